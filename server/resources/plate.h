/* What patterns and setups have in common: the parts of a plate and what they must be to each other. */
#ifndef HFD_PLATE_H
#define HFD_PLATE_H

#include "common.h"

#define HFD_PLATE_COLUMNS                                                                                    \
    {.name = "material",                                                                                     \
        .kind = HFD_COLUMN_PART,                                                                             \
        .shape = &hfd_shapes[HFD_SHAPE_MATERIAL],                                                            \
        .what = "Name of a material, or its numbers."},                                                      \
        {.name = "nodes",                                                                                    \
            .kind = HFD_COLUMN_PART,                                                                         \
            .shape = &hfd_shapes[HFD_SHAPE_NODES],                                                           \
            .what = "Named points."},                                                                        \
        {.name = "bars",                                                                                     \
            .kind = HFD_COLUMN_PART,                                                                         \
            .shape = &hfd_shapes[HFD_SHAPE_BARS],                                                            \
            .what = "Bars between nodes."},                                                                  \
        {.name = "seats",                                                                                    \
            .kind = HFD_COLUMN_PART,                                                                         \
            .shape = &hfd_shapes[HFD_SHAPE_SEATS],                                                           \
            .what = "Nodes that sit on screws."},                                                            \
    {                                                                                                        \
        .name = "fittings", .kind = HFD_COLUMN_PART, .shape = &hfd_shapes[HFD_SHAPE_FITTINGS],               \
        .what = "Hooks, eyelets and tubes at nodes."                                                         \
    }

/* Bars, seats and fittings name nodes that are there. Parameters: nodes, bars, seats, fittings. */
#define HFD_PLATE_RULE                                                                                       \
    {                                                                                                        \
        .sql = "select u.pointer, 'The plate has no node of this name.' from ("                              \
               "select '/bars/' || n - 1 || '/from', b ->> 'from' from jsonb_array_elements($2::jsonb) "     \
               "with ordinality e (b, n) union all "                                                         \
               "select '/bars/' || n - 1 || '/to', b ->> 'to' from jsonb_array_elements($2::jsonb) "         \
               "with ordinality e (b, n) union all "                                                         \
               "select '/seats/' || n - 1 || '/node', s ->> 'node' from jsonb_array_elements($3::jsonb) "    \
               "with ordinality e (s, n) union all "                                                         \
               "select '/fittings/' || n - 1 || '/node', f ->> 'node' from jsonb_array_elements($4::jsonb) " \
               "with ordinality e (f, n)) u (pointer, name) where not exists "                               \
               "(select from jsonb_array_elements($1::jsonb) k where k ->> 'name' = u.name)",                \
        .params = {"nodes", "bars", "seats", "fittings"},                                                    \
    }

#endif
