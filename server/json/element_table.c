#include "case_table.h"

#include <math.h>

#include "../../core/case.h"
#include "../../core/element.h"
#include "decode.h"
#include "table.h"

/* The kind is required; until one is read it is none. */
static void hf_element_in_init(void *item) {
    hf_element_in *element = item;
    *element = hf_element_default();
    element->kind = HF_ELEMENT_COUNT;
}

static const char *const attachment_names[] = {"bracket", "palatal-attachment", "buccal-tube", "crest", NULL};
const char *const hfd_element_kind_names[] = {"chain", "closed-coil", "open-coil", "elastic",
    "extraoral-elastic", "cantilever", "tie", "applied", "rigid-bar", NULL};

static const struct hfd_field end_fields[] = {
    {"fitting", HFD_FIELD_TEXT, HFD_FIELD_KEY, AT(hf_end_in, fitting), .choice = HFD_CHOICE(HF_END_FITTING),
        .what = "name of a node that carries a fitting"},
    {"tooth", HFD_FIELD_TOOTH, HFD_FIELD_KEY, AT(hf_end_in, tooth), .choice = HFD_CHOICE(HF_END_TOOTH),
        .what = "a tooth in ISO 3950"},
    {"at", HFD_FIELD_ENUM, AT(hf_end_in, at), .names = attachment_names, .choice = HFD_CHOICE(HF_END_TOOTH),
        .what = "where on the tooth; left out: the bracket"},
    {"offset_mm", VEC3, AT(hf_end_in, offset_mm), .limit = HF_LIMIT_OFFSET,
        .choice = HFD_CHOICE(HF_END_TOOTH), .what = "from there, in the frame of the document"},
    {"segment", HFD_FIELD_TEXT, HFD_FIELD_KEY, AT(hf_end_in, segment), .choice = HFD_CHOICE(HF_END_SEGMENT),
        .what = "name of a segment"},
    {"at_mm", POINT, REQUIRED, AT(hf_end_in, at_mm), .choice = HFD_CHOICE(HF_END_SEGMENT),
        .what = "point of the segment"},
    {"fixed_mm", POINT, .flags = HFD_FIELD_KEY, AT(hf_end_in, fixed_mm), .choice = HFD_CHOICE(HF_END_FIXED),
        .what = "a point that does not move"},
    {"label", HFD_FIELD_TEXT, AT(hf_end_in, label), .choice = HFD_CHOICE(HF_END_FIXED),
        .what = "what is there"},
};
static const struct hfd_table end_table = {"an end of an element", HFD_FIELDS(end_fields),
    .size = sizeof(hf_end_in), .choose = true, .choice_at = offsetof(hf_end_in, kind)};

static const struct hfd_field force_fields[] = {
    {"force_n", HFD_FIELD_REAL, AT(hf_element_in, force_n), .limit = HF_LIMIT_TENSION, .what = "tension"},
    {"force_n", VEC3, AT(hf_element_in, applied_force_n), .limit = HF_LIMIT_APPLIED_FORCE,
        .what = "an applied force"},
};
static const struct hfd_table force_table = {
    "a force", HFD_FIELDS(force_fields), .size = sizeof(hf_element_in)};

static const struct hfd_field supply_fields[] = {
    {"rest_length_mm", HFD_FIELD_REAL, AT(hf_supply_in, rest_length_mm), .limit = HF_LIMIT_REST_LENGTH,
        .what = "chain, coils: length at rest between the ends"},
    {"extension_mm", HFD_FIELD_REAL, AT(hf_supply_in, extension_mm), .limit = HF_LIMIT_EXTENSION,
        .what = "beyond rest (open coil: short of it); left out: from the distance of the ends"},
    {"force_at_double_n", HFD_FIELD_REAL, AT(hf_supply_in, force_at_double_n), .limit = HF_LIMIT_TENSION,
        .what = "chain: force at twice its length"},
    {"stretch_power", HFD_FIELD_REAL, AT(hf_supply_in, stretch_power), .limit = HF_LIMIT_STRETCH_POWER,
        .what = "chain: power by which the force grows with the stretch"},
    {"rate_n_per_mm", HFD_FIELD_REAL, AT(hf_supply_in, rate_n_per_mm), .limit = HF_LIMIT_SPRING_RATE,
        .what = "superelastic coil: slope before the plateau"},
    {"loading_n", HFD_FIELD_REAL, AT(hf_supply_in, loading_n), .limit = HF_LIMIT_TENSION,
        .what = "superelastic coil: plateau when it is stretched"},
    {"unloading_n", HFD_FIELD_REAL, AT(hf_supply_in, unloading_n), .limit = HF_LIMIT_TENSION,
        .what = "superelastic coil: plateau when it is let go"},
    {"tail_n_per_mm", HFD_FIELD_REAL, AT(hf_supply_in, tail_n_per_mm), .limit = HF_LIMIT_SPRING_TAIL,
        .what = "superelastic coil: slope of the plateaus; left out: 0"},
    {"most_extension_mm", HFD_FIELD_REAL, AT(hf_supply_in, most_extension_mm), .limit = HF_LIMIT_EXTENSION,
        .what = "coils: largest extension since placement; left out: that of the date"},
    {"wire_mm", HFD_FIELD_REAL, AT(hf_supply_in, wire_mm), .limit = HF_LIMIT_SPRING_WIRE,
        .what = "steel coil: diameter of its wire"},
    {"lumen_mm", HFD_FIELD_REAL, AT(hf_supply_in, lumen_mm), .limit = HF_LIMIT_LUMEN,
        .what = "steel coil, elastic: inner diameter"},
    {"turns", HFD_FIELD_REAL, AT(hf_supply_in, turns), .limit = HF_LIMIT_TURNS,
        .what = "steel coil: turns that give"},
    {"label_force_n", HFD_FIELD_REAL, AT(hf_supply_in, label_force_n), .limit = HF_LIMIT_TENSION,
        .what = "elastic: force at a length of three lumens"},
};
static const struct hfd_table supply_table = {
    "a product's data", HFD_FIELDS(supply_fields), .size = sizeof(hf_supply_in)};

static const struct hfd_field wire_fields[] = {
    {"section", HFD_FIELD_OBJECT, REQUIRED, AT(hf_element_in, wire_section), .table = &hfd_section_table,
        .what = "the wire's cross-section"},
    {"material", MATERIAL, REQUIRED, AT(hf_element_in, wire_material),
        .what = "name of a wire alloy, or its numbers"},
    {"edgewise", HFD_FIELD_FLAG, AT(hf_element_in, edgewise),
        .what = "a rectangular wire is bent along its width, the stiff way"},
};
static const struct hfd_table wire_table = {"a wire", HFD_FIELDS(wire_fields), .size = sizeof(hf_element_in)};

static const struct hfd_field element_fields[] = {
    {"name", HFD_FIELD_TEXT, REQUIRED, AT(hf_element_in, name), .what = "name of the element"},
    {"kind", HFD_FIELD_ENUM, REQUIRED, AT(hf_element_in, kind), .names = hfd_element_kind_names,
        .what = "kind of element"},
    {"from", HFD_FIELD_OBJECT, AT(hf_element_in, from), .table = &end_table, .what = "one end"},
    {"to", HFD_FIELD_OBJECT, AT(hf_element_in, to), .table = &end_table, .what = "the other end"},
    {"force_n", HFD_FIELD_EITHER, .table = &force_table,
        .what = "measured when activated; for \"applied\" the force as a vector"},
    {"reading_after_s", HFD_FIELD_REAL, AT(hf_element_in, reading_after_s), .limit = HF_LIMIT_READING_TIME,
        .needs = "force_n",
        .what = "seconds from stretching to reading the gauge; left out: the force at once is meant"},
    {"supply", HFD_FIELD_OBJECT, AT(hf_element_in, supply), .table = &supply_table,
        .what = "what the product's data say, when the force was not measured"},
    {"wire", HFD_FIELD_OBJECT, .table = &wire_table, .what = "of a cantilever"},
    {"length_mm", HFD_FIELD_REAL, AT(hf_element_in, length_mm), .limit = HF_LIMIT_CANTILEVER_LENGTH,
        .what = "of a cantilever: wire from the tube to the end"},
    {"helix_mm", HFD_FIELD_REAL, AT(hf_element_in, helix_mm), .limit = HF_LIMIT_HELIX,
        .what = "of a cantilever: wire wound into a helix at the tube"},
    {"activation_mm", HFD_FIELD_REAL, AT(hf_element_in, activation_mm), .limit = HF_LIMIT_EXTENSION,
        .what = "of a cantilever: how far its end was moved, when the force was not measured"},
    {"pull", VEC3, AT(hf_element_in, pull), .limit = HF_LIMIT_DIRECTION,
        .what = "of a cantilever: way it pulls `to`; left out: towards the tube's axis"},
    {"moment_nmm", VEC3, AT(hf_element_in, applied_moment_nmm), .limit = HF_LIMIT_APPLIED_MOMENT,
        .what = "couple of an \"applied\" load"},
    {"activated_on", HFD_FIELD_DATE, AT(hf_element_in, activated_on),
        .what = "left out: the date of the document"},
    {"product", HFD_FIELD_TEXT, AT(hf_element_in, product),
        .what = "decay class; left out: the usual one of the kind"},
    {"remaining_28d", HFD_FIELD_REAL, AT(hf_element_in, remaining_28d), .limit = HF_LIMIT_REMAINING_SHARE,
        .what = "measured share of the force left after 28 days, of a chain"},
    {"renewed_daily", HFD_FIELD_FLAG, AT(hf_element_in, renewed_daily),
        .what = "elastics: a fresh one every day"},
    {"hours_per_day", HFD_FIELD_REAL, AT(hf_element_in, hours_per_day), .limit = HF_LIMIT_HOURS_PER_DAY,
        .what = "how long it is worn"},
};

/* Members of one kind only. */
static void cantilever_check(
    const struct hfd_decoder *d, const struct hfd_path *path, const hf_element_in *element) {
    const struct {
        const char *name;
        bool given;
    } own[] = {
        {"wire", element->wire_section.kind != HF_SECTION_NONE},
        {"length_mm", !isnan(element->length_mm)},
        {"helix_mm", !isnan(element->helix_mm)},
        {"activation_mm", !isnan(element->activation_mm)},
        {"pull", hf_vec3_is_given(element->pull)},
    };
    if (element->kind == HF_ELEMENT_CANTILEVER) return;
    for (size_t i = 0; i < sizeof own / sizeof *own; i++) {
        struct hfd_path member = {.up = path, .name = own[i].name};
        if (own[i].given) hfd_decode_error(d, &member, "goes only with a \"cantilever\"");
    }
}

/* A number is a tension, a vector an applied force: which of them a kind takes. */
static void element_check(const struct hfd_decoder *d, const struct hfd_path *path, const void *item) {
    const hf_element_in *element = item;
    struct hfd_path force = {.up = path, .name = "force_n"}, moment = {.up = path, .name = "moment_nmm"};
    bool tension = !isnan(element->force_n), vector = hf_vec3_is_given(element->applied_force_n);
    if (element->kind == HF_ELEMENT_COUNT) return;
    const char *kind = hfd_element_kind_names[element->kind];
    cantilever_check(d, path, element);
    if (element->kind == HF_ELEMENT_APPLIED) {
        if (tension)
            hfd_decode_error(
                d, &force, "an applied load has a direction: expected an array of 3 numbers in N");
        return;
    }
    if (vector)
        hfd_decode_error(
            d, &force, "the direction of a \"%s\" follows from its ends: expected a number in N", kind);
    else if (tension && !hf_element_traits[element->kind].pulls)
        hfd_decode_error(d, &force, "a \"%s\" has no force of its own", kind);
    if (hf_vec3_is_given(element->applied_moment_nmm))
        hfd_decode_error(d, &moment, "goes only with \"applied\"");
}

const struct hfd_table hfd_element_table = {"an element", HFD_FIELDS(element_fields),
    .size = sizeof(hf_element_in), .init = hf_element_in_init, .check = element_check};
