/* Parts of the mechanics document, for those who keep such parts and want them checked. */
#ifndef HFD_SHAPES_H
#define HFD_SHAPES_H

#include "../../core/arena.h"
#include "../base/problem.h"
#include "field.h"

enum hfd_shape_id {
    HFD_SHAPE_ARCHES,
    HFD_SHAPE_TEETH,
    HFD_SHAPE_SEGMENTS,
    HFD_SHAPE_SITES,
    HFD_SHAPE_SCREWS,
    HFD_SHAPE_PLATES,
    HFD_SHAPE_ELEMENTS,
    HFD_SHAPE_PATIENT,
    HFD_SHAPE_NODES,
    HFD_SHAPE_BARS,
    HFD_SHAPE_SEATS,
    HFD_SHAPE_FITTINGS,
    HFD_SHAPE_MATERIAL,
    HFD_SHAPE_SECTION,
    HFD_SHAPE_POINT, /* coordinates or as told by the clinician */
    HFD_SHAPE_AXIS,  /* a vector or "perpendicular" */
    HFD_SHAPE_ROOT,
    HFD_SHAPE_LIGAMENT,
    HFD_SHAPE_END,
    HFD_SHAPE_COUNT
};

/* What stands at `member` of an object described by `table`. Others may describe their own in the same way; a
 * table of size 0 only checks. */
struct hfd_shape {
    const struct hfd_table *table;
    const char *member;
};

extern const struct hfd_shape hfd_shapes[HFD_SHAPE_COUNT];

#endif
