#include "shapes.h"

#include "case_table.h"
#include "decode.h"

const struct hfd_shape hfd_shapes[HFD_SHAPE_COUNT] = {
    [HFD_SHAPE_ARCHES] = {&hfd_case_table, "arches"},
    [HFD_SHAPE_TEETH] = {&hfd_case_table, "teeth"},
    [HFD_SHAPE_SEGMENTS] = {&hfd_case_table, "segments"},
    [HFD_SHAPE_SITES] = {&hfd_case_table, "sites"},
    [HFD_SHAPE_SCREWS] = {&hfd_case_table, "screws"},
    [HFD_SHAPE_PLATES] = {&hfd_case_table, "plates"},
    [HFD_SHAPE_ELEMENTS] = {&hfd_case_table, "elements"},
    [HFD_SHAPE_PATIENT] = {&hfd_case_table, "patient"},
    [HFD_SHAPE_NODES] = {&hfd_plate_table, "nodes"},
    [HFD_SHAPE_BARS] = {&hfd_plate_table, "bars"},
    [HFD_SHAPE_SEATS] = {&hfd_plate_table, "seats"},
    [HFD_SHAPE_FITTINGS] = {&hfd_plate_table, "fittings"},
    [HFD_SHAPE_MATERIAL] = {&hfd_plate_table, "material"},
    [HFD_SHAPE_SECTION] = {&hfd_bar_table, "section"},
    [HFD_SHAPE_POINT] = {&hfd_screw_table, "entry_mm"},
    [HFD_SHAPE_AXIS] = {&hfd_screw_table, "axis"},
    [HFD_SHAPE_ROOT] = {&hfd_tooth_table, "root"},
    [HFD_SHAPE_LIGAMENT] = {&hfd_tooth_table, "ligament"},
    [HFD_SHAPE_END] = {&hfd_element_table, "from"},
};

/* Decodes into a struct that nobody keeps: rules between members need one. */
bool hfd_shape_check_json(const struct hfd_shape *shape, json_t *json, const char *pointer, hf_arena *arena,
    struct hfd_errors *errors) {
    const struct hfd_table *table = shape->table;
    size_t before = errors->count;
    struct hfd_decoder decoder = {arena, errors};
    struct hfd_path root = {.name = pointer};
    void *scratch = table->size ? hf_arena_alloc(arena, table->size) : NULL;
    if (scratch && table->init) table->init(scratch);
    hfd_decode_field(&decoder, hfd_table_field(table, shape->member), &root, json, scratch);
    return errors->count == before;
}
