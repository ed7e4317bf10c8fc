/* The mechanics document as tables over hf_case and its parts. */
#ifndef HFD_CASE_TABLE_H
#define HFD_CASE_TABLE_H

#include "field.h"

extern const struct hfd_table hfd_case_table;
/* parts */
extern const struct hfd_table hfd_point_table, hfd_arches_table, hfd_tooth_table, hfd_segment_table,
    hfd_section_table, hfd_material_table, hfd_screw_table, hfd_plate_table, hfd_bar_table, hfd_element_table;
/* words that the answer uses too, in the order of the core's enumerations */
extern const char *const hfd_element_kind_names[];

#endif
