/* Rows that every table of columns has. */
#ifndef HFD_COMMON_H
#define HFD_COMMON_H

#include "../rest/resource.h"

#define HFD_COLUMNS_BEFORE                                                                                   \
    {.name = "id", .kind = HFD_COLUMN_UUID, .flags = HFD_READ_ONLY, .what = "Given by the service."}, {      \
        .name = "version", .kind = HFD_COLUMN_INT, .flags = HFD_READ_ONLY | HFD_ETAG,                        \
        .what = "Counts the changes from 1; the ETag shows it."                                              \
    }

#define HFD_COLUMNS_AFTER                                                                                    \
    {.name = "created_at",                                                                                   \
        .kind = HFD_COLUMN_TIME,                                                                             \
        .flags = HFD_READ_ONLY | HFD_SORT,                                                                   \
        .what = "Time of creation."},                                                                        \
    {                                                                                                        \
        .name = "updated_at", .kind = HFD_COLUMN_TIME, .flags = HFD_READ_ONLY | HFD_SORT | HFD_RANGE,        \
        .what = "Time of the last change."                                                                   \
    }

#endif
