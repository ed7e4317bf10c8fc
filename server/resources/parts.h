/* Short forms for the JSON parts that rows keep as they came: checked, not decoded. */
#ifndef HFD_PARTS_H
#define HFD_PARTS_H

#include "../json/shapes.h"

#define TEXT_FIELD(member, need, words)                                                                      \
    { .name = member, .kind = HFD_FIELD_TEXT, .flags = need, .at = HFD_NOWHERE, .what = words }
#define REAL_FIELD(member, range, words)                                                                     \
    { .name = member, .kind = HFD_FIELD_REAL, .at = HFD_NOWHERE, .limit = range, .what = words }
#define INT_FIELD(member, range, words)                                                                      \
    { .name = member, .kind = HFD_FIELD_INT, .at = HFD_NOWHERE, .limit = range, .what = words }
#define LIST_FIELD(member, of, most, words)                                                                  \
    { .name = member, .kind = HFD_FIELD_LIST, .at = HFD_NOWHERE, .table = of, .limit = most, .what = words }

/* Wished, or measured since the case began; in the segment's own directions. */
#define MOVEMENT_FIELDS                                                                                      \
    REAL_FIELD("mesial_mm", HF_LIMIT_MEASURE, "Towards mesial."),                                            \
        REAL_FIELD("buccal_mm", HF_LIMIT_MEASURE, "Towards buccal."),                                        \
        REAL_FIELD("occlusal_mm", HF_LIMIT_MEASURE, "Towards occlusal; intrusion is negative."),             \
        REAL_FIELD("tip_deg", HF_LIMIT_ANGLE, "Crown to mesial."),                                           \
        REAL_FIELD("torque_deg", HF_LIMIT_ANGLE, "Crown to buccal."),                                        \
        REAL_FIELD("rotation_deg", HF_LIMIT_ANGLE, "Mesial side to buccal.")

#endif
