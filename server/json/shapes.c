#include "shapes.h"

#include <string.h>

#include "case_table.h"
#include "decode.h"
#include "parse.h"

const struct hfd_shape hfd_shapes[HFD_SHAPE_COUNT] = {
    [HFD_SHAPE_ARCHES] = {"arches", &hfd_case_table, "arches"},
    [HFD_SHAPE_TEETH] = {"teeth", &hfd_case_table, "teeth"},
    [HFD_SHAPE_SEGMENTS] = {"segments", &hfd_case_table, "segments"},
    [HFD_SHAPE_SITES] = {"sites", &hfd_case_table, "sites"},
    [HFD_SHAPE_SCREWS] = {"screws", &hfd_case_table, "screws"},
    [HFD_SHAPE_PLATES] = {"plates", &hfd_case_table, "plates"},
    [HFD_SHAPE_ELEMENTS] = {"elements", &hfd_case_table, "elements"},
    [HFD_SHAPE_PATIENT] = {"patient", &hfd_case_table, "patient"},
    [HFD_SHAPE_NODES] = {"nodes", &hfd_plate_table, "nodes"},
    [HFD_SHAPE_BARS] = {"bars", &hfd_plate_table, "bars"},
    [HFD_SHAPE_SEATS] = {"seats", &hfd_plate_table, "seats"},
    [HFD_SHAPE_FITTINGS] = {"fittings", &hfd_plate_table, "fittings"},
    [HFD_SHAPE_MATERIAL] = {"material", &hfd_plate_table, "material"},
    [HFD_SHAPE_SECTION] = {"section", &hfd_bar_table, "section"},
    [HFD_SHAPE_POINT] = {"point", &hfd_screw_table, "entry_mm"},
    [HFD_SHAPE_AXIS] = {"axis", &hfd_screw_table, "axis"},
    [HFD_SHAPE_ROOT] = {"root", &hfd_tooth_table, "root"},
    [HFD_SHAPE_LIGAMENT] = {"ligament", &hfd_tooth_table, "ligament"},
    [HFD_SHAPE_END] = {"end", &hfd_element_table, "from"},
};

const struct hfd_shape *hfd_shape_find(const char *name) {
    for (size_t i = 0; i < HFD_SHAPE_COUNT; i++) {
        if (strcmp(hfd_shapes[i].name, name) == 0) return &hfd_shapes[i];
    }
    return NULL;
}

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

struct check {
    const struct hfd_shape *shape;
    const char *pointer;
    hf_arena *arena;
    struct hfd_errors *errors;
    bool right;
};

static void use(json_t *json, void *ctx) {
    struct check *check = ctx;
    check->right = hfd_shape_check_json(check->shape, json, check->pointer, check->arena, check->errors);
}

bool hfd_shape_check(const struct hfd_shape *shape, const char *text, size_t length, const char *pointer,
    hf_arena *arena, struct hfd_errors *errors) {
    const char *detail;
    struct check check = {shape, pointer, arena, errors, false};
    if (!hfd_json_with(text, length, arena, use, &check, &detail))
        hfd_errors_add(errors, pointer, "not well-formed JSON: %s", detail);
    return check.right;
}
