#include "case_table.h"

#include <math.h>

#include "../../core/case.h"
#include "decode.h"
#include "table.h"

HFD_INIT(hf_screw_in, hf_screw_default)
HFD_INIT(hf_node_in, hf_node_default)
HFD_INIT(hf_bar_in, hf_bar_default)
HFD_INIT(hf_plate_in, hf_plate_default)

/* The kind is required; until one is read it is none. */
static void hf_fitting_in_init(void *item) {
    hf_fitting_in *fitting = item;
    *fitting = hf_fitting_default();
    fitting->kind = HF_FITTING_COUNT;
}

static const char *const perpendicular_names[] = {"perpendicular", NULL};
static const char *const mucosa_names[] = {"", "attached", "movable", NULL};
static const char *const fitting_names[] = {"hook", "eyelet", "tube", NULL};

/* ---------------------------------------------------------------- screws */

static const struct hfd_field axis_fields[] = {
    {"axis", VEC3, AT(hf_screw_in, axis), .limit = HF_LIMIT_DIRECTION,
        .what = "from the tip to the head, out of the bone"},
    {"axis", HFD_FIELD_WORD, AT(hf_screw_in, axis_perpendicular), .names = perpendicular_names,
        .what = "perpendicular to the surface at the entry"},
};
static const struct hfd_table axis_table = {"an axis", HFD_FIELDS(axis_fields), .size = sizeof(hf_screw_in)};

static const struct hfd_field placed_by_fields[] = {
    {"screws_placed_before", HFD_FIELD_INT, REQUIRED, AT(hf_screw_in, placed_by_count),
        .limit = HF_LIMIT_SCREWS_PLACED_BEFORE, .what = "how many screws this operator had placed before"},
};
static const struct hfd_table placed_by_table = {
    "the operator in numbers", HFD_FIELDS(placed_by_fields), .size = sizeof(hf_screw_in)};

static const struct hfd_field screw_fields[] = {
    {"name", HFD_FIELD_TEXT, REQUIRED, AT(hf_screw_in, name), .what = "name of the screw"},
    {"site", HFD_FIELD_TEXT, AT(hf_screw_in, site), .what = "key of the anatomical site"},
    {"entry_mm", POINT, REQUIRED, AT(hf_screw_in, entry), .what = "where the axis meets the bone surface"},
    {"axis", HFD_FIELD_EITHER, REQUIRED, .table = &axis_table,
        .what = "from the tip to the head, or \"perpendicular\" to the surface"},
    {"tilt_deg", HFD_FIELD_REAL, AT(hf_screw_in, tilt_deg), .limit = HF_LIMIT_TILT,
        .what = "how far a perpendicular axis leans towards anterior"},
    {"diameter_mm", HFD_FIELD_REAL, REQUIRED, AT(hf_screw_in, diameter_mm), .limit = HF_LIMIT_SCREW_DIAMETER,
        .what = "outer diameter of the thread"},
    {"core_mm", HFD_FIELD_REAL, AT(hf_screw_in, core_mm), .limit = HF_LIMIT_SCREW_CORE,
        .what = "core diameter"},
    {"length_mm", HFD_FIELD_REAL, REQUIRED, AT(hf_screw_in, length_mm), .limit = HF_LIMIT_SCREW_LENGTH,
        .what = "length of the part in bone"},
    {"thread_pitch_mm", HFD_FIELD_REAL, AT(hf_screw_in, thread_pitch_mm), .limit = HF_LIMIT_THREAD_PITCH,
        .what = "thread pitch"},
    {"tissue_mm", HFD_FIELD_REAL, AT(hf_screw_in, tissue_mm), .limit = HF_LIMIT_TISSUE,
        .what = "mucosa between the bone and the head"},
    {"stand_off_mm", HFD_FIELD_REAL, AT(hf_screw_in, stand_off_mm), .limit = HF_LIMIT_STAND_OFF,
        .what = "from the mucosa to the head"},
    {"cortex_mm", HFD_FIELD_REAL, AT(hf_screw_in, cortex_mm), .limit = HF_LIMIT_CORTEX,
        .what = "measured thickness of the cortex"},
    {"cortex_modulus_mpa", HFD_FIELD_REAL, AT(hf_screw_in, cortex_modulus_mpa),
        .limit = HF_LIMIT_CORTEX_MODULUS, .what = "elastic modulus of the cortex"},
    {"cancellous_modulus_mpa", HFD_FIELD_REAL, AT(hf_screw_in, cancellous_modulus_mpa),
        .limit = HF_LIMIT_CANCELLOUS_MODULUS, .what = "elastic modulus of the cancellous bone"},
    {"modulus_mpa", HFD_FIELD_REAL, AT(hf_screw_in, modulus_mpa), .limit = HF_LIMIT_MODULUS,
        .what = "elastic modulus of the screw"},
    {"poisson", HFD_FIELD_REAL, AT(hf_screw_in, poisson), .limit = HF_LIMIT_POISSON,
        .what = "Poisson's ratio of the screw"},
    {"interface_factor", HFD_FIELD_REAL, AT(hf_screw_in, interface_factor),
        .limit = HF_LIMIT_INTERFACE_FACTOR,
        .what = "how much softer than bonded the bone holds it: 1 = bonded"},
    {"placed_on", HFD_FIELD_DATE, AT(hf_screw_in, placed_on), .what = "date of placement"},
    {"insertion_torque_ncm", HFD_FIELD_REAL, AT(hf_screw_in, insertion_torque_ncm),
        .limit = HF_LIMIT_INSERTION_TORQUE, .what = "largest torque at placement"},
    {"root_distance_mm", HFD_FIELD_REAL, AT(hf_screw_in, root_distance_mm), .limit = HF_LIMIT_ROOT_DISTANCE,
        .what = "distance to the nearest root"},
    {"mucosa", HFD_FIELD_ENUM, AT(hf_screw_in, mucosa), .names = mucosa_names,
        .what = "mucosa around the screw"},
    {"mobility_grade", HFD_FIELD_INT, AT(hf_screw_in, mobility_grade), .limit = HF_LIMIT_GRADE,
        .what = "mobility as seen, 0 none to 3"},
    {"inflammation_grade", HFD_FIELD_INT, AT(hf_screw_in, inflammation_grade), .limit = HF_LIMIT_GRADE,
        .what = "inflammation as seen, 0 none to 3"},
    {"percussion_score", HFD_FIELD_REAL, AT(hf_screw_in, percussion_score), .limit = HF_LIMIT_SCORE,
        .what = "score of a percussion device at the date"},
    {"resonance_score", HFD_FIELD_REAL, AT(hf_screw_in, resonance_score), .limit = HF_LIMIT_SCORE,
        .what = "score of a resonance device at the date"},
    {"resonance_at_placement", HFD_FIELD_REAL, AT(hf_screw_in, resonance_at_placement),
        .limit = HF_LIMIT_SCORE, .what = "the same at placement"},
    {"predrilled", HFD_FIELD_FLAG, AT(hf_screw_in, predrilled), .what = "a pilot hole was drilled"},
    {"placed_by", HFD_FIELD_OBJECT, .table = &placed_by_table, .what = "the operator's experience, no name"},
};

static void screw_check(const struct hfd_decoder *d, const struct hfd_path *path, const void *item) {
    const hf_screw_in *screw = item;
    struct hfd_path tilt = {.up = path, .name = "tilt_deg"};
    if (!isnan(screw->tilt_deg) && hf_vec3_is_given(screw->axis))
        hfd_decode_error(d, &tilt, "goes only with `axis` \"perpendicular\"");
}

const struct hfd_table hfd_screw_table = {"a screw", HFD_FIELDS(screw_fields), .size = sizeof(hf_screw_in),
    .init = hf_screw_in_init, .check = screw_check};

/* ---------------------------------------------------------------- plates */

static const struct hfd_field node_fields[] = {
    {"name", HFD_FIELD_TEXT, REQUIRED, AT(hf_node_in, name), .what = "name of the node"},
    {"at_mm", POINT, REQUIRED, AT(hf_node_in, at), .what = "where it is"},
    {"tissue_gap_mm", HFD_FIELD_REAL, AT(hf_node_in, tissue_gap_mm), .limit = HF_LIMIT_TISSUE_GAP,
        .what = "gap to the tissue below; negative where the plate presses into it"},
};
static const struct hfd_table node_table = {
    "a node", HFD_FIELDS(node_fields), .size = sizeof(hf_node_in), .init = hf_node_in_init};

static const struct hfd_field bar_fields[] = {
    {"from", HFD_FIELD_TEXT, REQUIRED, AT(hf_bar_in, from), .what = "name of the node where the bar begins"},
    {"to", HFD_FIELD_TEXT, REQUIRED, AT(hf_bar_in, to), .what = "name of the node where the bar ends"},
    {"section", HFD_FIELD_OBJECT, REQUIRED, AT(hf_bar_in, section), .table = &hfd_section_table,
        .what = "the bar's cross-section"},
    {"normal", VEC3, AT(hf_bar_in, normal), .limit = HF_LIMIT_DIRECTION,
        .what = "direction of the thickness"},
    {"material", MATERIAL, AT(hf_bar_in, material), .what = "when it is not the plate's"},
};
const struct hfd_table hfd_bar_table = {
    "a bar", HFD_FIELDS(bar_fields), .size = sizeof(hf_bar_in), .init = hf_bar_in_init};

static const struct hfd_field seat_fields[] = {
    {"node", HFD_FIELD_TEXT, REQUIRED, AT(hf_seat_in, node),
        .what = "name of the node that sits on the screw"},
    {"screw", HFD_FIELD_TEXT, REQUIRED, AT(hf_seat_in, screw), .what = "name of the screw"},
};
static const struct hfd_table seat_table = {"a seat", HFD_FIELDS(seat_fields), .size = sizeof(hf_seat_in)};

static const struct hfd_field fitting_fields[] = {
    {"node", HFD_FIELD_TEXT, REQUIRED, AT(hf_fitting_in, node),
        .what = "name of the node that carries the fitting"},
    {"kind", HFD_FIELD_ENUM, REQUIRED, AT(hf_fitting_in, kind), .names = fitting_names,
        .what = "kind of fitting"},
    {"axis", VEC3, AT(hf_fitting_in, axis), .limit = HF_LIMIT_DIRECTION, .what = "direction of a tube"},
    {"slot_in", HFD_FIELD_REALS, AT(hf_fitting_in, slot_in), .count = 2, .limit = HF_LIMIT_WIRE_SIZE,
        .what = "height and depth of a tube's slot in inch"},
};

static void fitting_check(const struct hfd_decoder *d, const struct hfd_path *path, const void *item) {
    const hf_fitting_in *fitting = item;
    struct hfd_path axis = {.up = path, .name = "axis"}, slot = {.up = path, .name = "slot_in"};
    if (fitting->kind == HF_FITTING_TUBE || fitting->kind == HF_FITTING_COUNT) return;
    if (hf_vec3_is_given(fitting->axis)) hfd_decode_error(d, &axis, "goes only with a \"tube\"");
    if (!isnan(fitting->slot_in[0])) hfd_decode_error(d, &slot, "goes only with a \"tube\"");
}

static const struct hfd_table fitting_table = {"a fitting", HFD_FIELDS(fitting_fields),
    .size = sizeof(hf_fitting_in), .init = hf_fitting_in_init, .check = fitting_check};

static const struct hfd_field plate_fields[] = {
    {"name", HFD_FIELD_TEXT, REQUIRED, AT(hf_plate_in, name), .what = "name of the plate"},
    {"purpose", HFD_FIELD_TEXT, AT(hf_plate_in, purpose), .what = "what the plate is for"},
    {"material", MATERIAL, AT(hf_plate_in, material), .what = "name of a material, or its numbers"},
    {"nodes", LIST(hf_plate_in, nodes, node_count), REQUIRED, .limit = HF_LIMIT_NODES, .table = &node_table,
        .what = "points of the plate"},
    {"bars", LIST(hf_plate_in, bars, bar_count), .limit = HF_LIMIT_BARS, .table = &hfd_bar_table,
        .what = "bars between the nodes"},
    {"seats", LIST(hf_plate_in, seats, seat_count), REQUIRED, .limit = HF_LIMIT_SEATS, .table = &seat_table,
        .what = "which nodes sit on which screws"},
    {"fittings", LIST(hf_plate_in, fittings, fitting_count), .limit = HF_LIMIT_FITTINGS,
        .table = &fitting_table, .what = "where elements can be hung"},
};
const struct hfd_table hfd_plate_table = {
    "a plate", HFD_FIELDS(plate_fields), .size = sizeof(hf_plate_in), .init = hf_plate_in_init};
