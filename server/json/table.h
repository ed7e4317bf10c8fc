/* Shorthand for writing tables of fields. For the files that hold tables, nobody else. */
#ifndef HFD_TABLE_H
#define HFD_TABLE_H

#include "case_table.h"
#include "field.h"

#define AT(type, member) .at = offsetof(type, member)
#define LIST(type, items, number)                                                                            \
    .kind = HFD_FIELD_LIST, .at = offsetof(type, items), .count_at = offsetof(type, number)
#define REQUIRED .flags = HFD_FIELD_REQUIRED
#define VEC3 .kind = HFD_FIELD_REALS, .count = 3
#define POINT .kind = HFD_FIELD_EITHER, .table = &hfd_point_table
#define MATERIAL .kind = HFD_FIELD_EITHER, .table = &hfd_material_table

/* An item begins as the core says that "left out" looks. */
#define HFD_INIT(type, make)                                                                                 \
    static void type##_init(void *item) {                                                                    \
        *(type *)item = make();                                                                              \
    }

#endif
