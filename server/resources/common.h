/* Rows that every table of columns has, and who may do what. */
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

/* Patients and all that hangs on them. The auditor checks the trail, not the charts. */
#define HFD_CHART_READERS "{clinician,assistant,dashboard,integrator,admin}"
#define HFD_CHART_WRITERS "{clinician,assistant,integrator,admin}"
/* What a clinic chooses from. */
#define HFD_CATALOGUE_READERS "{clinician,assistant,dashboard,integrator,auditor,admin}"
#define HFD_CATALOGUE_WRITERS "{clinician,admin}"

#endif
