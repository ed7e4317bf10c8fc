#include "answer_table.h"

#include "table.h"

static const char *const severity_names[] = {"note", "caution", "stop", NULL};
static const char *const bending_names[] = {"", "linear", "elastica", NULL};
static const char *const motion_names[] = {
    "", "intrusion", "extrusion", "tipping", "bodily movement", "root movement", "rotation", NULL};
static const char *const window_names[] = {"", "below", "inside", "above", NULL};

/* ---------------------------------------------------------------- elements */

static const struct hfd_field range_fields[] = {
    {"low", HFD_FIELD_REAL, AT(hf_range, low), .what = "lower bound"},
    {"mid", HFD_FIELD_REAL, AT(hf_range, mid), .what = "best estimate"},
    {"high", HFD_FIELD_REAL, AT(hf_range, high), .what = "upper bound"},
};
const struct hfd_table hfd_range_table = {"a range", HFD_FIELDS(range_fields), .size = sizeof(hf_range)};

static const struct hfd_field force_at_fields[] = {
    {"day", HFD_FIELD_INT, AT(hf_force_at, day), .what = "days after activation"},
    {"force_n", HFD_FIELD_REAL, AT(hf_force_at, force_n), .what = "force left then"},
};
static const struct hfd_table force_at_table = {
    "a force in time", HFD_FIELDS(force_at_fields), .size = sizeof(hf_force_at)};

#define BENT(member) AT(hf_element_out, cantilever.member)
static const struct hfd_field bent_fields[] = {
    {"bending", HFD_FIELD_ENUM, AT(hf_element_out, bending), .names = bending_names,
        .what = "linear, or by the elastica where its end turns far"},
    {"activation_mm", HFD_FIELD_REAL, BENT(activation_mm), .what = "how far the end is moved"},
    {"reach_mm", HFD_FIELD_REAL, BENT(reach_mm), .what = "from the tube to the moved end, along the tube"},
    {"couple_nmm", HFD_FIELD_REAL, BENT(couple_nmm), .what = "of the straight wire on the tube"},
    {"stress_mpa", HFD_FIELD_REAL, BENT(stress_mpa), .what = "bending stress at the tube"},
    {"yield_ratio", HFD_FIELD_REAL, BENT(yield_ratio), .what = "stress over yield strength"},
};
static const struct hfd_table bent_table = {
    "a bent wire", HFD_FIELDS(bent_fields), .size = sizeof(hf_element_out)};

static const struct hfd_field element_fields[] = {
    {"name", HFD_FIELD_TEXT, REQUIRED, AT(hf_element_out, name), .what = "name of the element"},
    {"kind", HFD_FIELD_ENUM, REQUIRED, AT(hf_element_out, kind), .names = hfd_element_kind_names,
        .what = "kind of element"},
    {"force_n", HFD_FIELD_REAL, AT(hf_element_out, force_n), .what = "at the date"},
    {"force_range_n", HFD_FIELD_OBJECT, AT(hf_element_out, range_n), .table = &hfd_range_table,
        .what = "what it may be: spread of the reading or the product, and of its fading"},
    {"peak_force_n", HFD_FIELD_REAL, AT(hf_element_out, peak_force_n),
        .what = "the largest since it was activated: what screws and plates are judged by"},
    {"force_over_time", LIST(hf_element_out, over_time, over_time_count), .flags = HFD_FIELD_OMIT_EMPTY,
        .table = &force_at_table, .what = "as it stands now, up to the horizon"},
    {"direction", VEC3, AT(hf_element_out, direction), .what = "unit vector of the force on `from`"},
    {"from_mm", VEC3, AT(hf_element_out, from_mm), .what = "where it acts on `from`"},
    {"to_mm", VEC3, AT(hf_element_out, to_mm), .what = "where it acts on `to`"},
    {"days_active", HFD_FIELD_INT, AT(hf_element_out, days_active), .what = "days since activation"},
    {"retained_fraction", HFD_FIELD_REAL, AT(hf_element_out, retained_fraction),
        .what = "share of the force left"},
    {"cantilever", HFD_FIELD_OBJECT, .table = &bent_table, .what = "how its wire bends"},
    {"basis", LIST(hf_element_out, basis, basis_count), .item = HFD_FIELD_TEXT,
        .what = "keys of the evidence used"},
};
static const struct hfd_table element_table = {
    "an element", HFD_FIELDS(element_fields), .size = sizeof(hf_element_out)};

/* ---------------------------------------------------------------- segments */

static const struct hfd_field local_fields[] = {
    {"mesial_n", HFD_FIELD_REAL, AT(hf_local_out, mesial_n), .what = "force to mesial"},
    {"buccal_n", HFD_FIELD_REAL, AT(hf_local_out, buccal_n), .what = "force to buccal"},
    {"occlusal_n", HFD_FIELD_REAL, AT(hf_local_out, occlusal_n),
        .what = "force to occlusal; negative intrudes"},
    {"tip_nmm", HFD_FIELD_REAL, AT(hf_local_out, tip_nmm), .what = "moment, + crown to mesial"},
    {"torque_nmm", HFD_FIELD_REAL, AT(hf_local_out, torque_nmm), .what = "moment, + crown to buccal"},
    {"rotation_nmm", HFD_FIELD_REAL, AT(hf_local_out, rotation_nmm),
        .what = "moment, + mesial side to buccal"},
};
static const struct hfd_table local_table = {"the force system in the segment's own directions",
    HFD_FIELDS(local_fields), .size = sizeof(hf_local_out)};

static const struct hfd_field view_fields[] = {
    {"centre_of_resistance_mm", HFD_FIELD_REALS, AT(hf_view_out, centre_of_resistance_mm), .count = 2,
        .what = "of this plane"},
    {"force_n", HFD_FIELD_REAL, AT(hf_view_out, force_n), .what = "force in the plane"},
    {"moment_to_force_mm", HFD_FIELD_REAL, AT(hf_view_out, moment_to_force_mm),
        .what = "moment about the plane's centre of resistance over force"},
    {"sigma2_mm2", HFD_FIELD_REAL, AT(hf_view_out, sigma2_mm2),
        .what =
            "distance of the line of force times distance of the centre of rotation, both from the centre of resistance"},
    {"centre_of_rotation_mm", HFD_FIELD_REALS, AT(hf_view_out, centre_of_rotation_mm), .count = 2,
        .what = "left out for pure translation"},
};
static const struct hfd_table view_table = {
    "one plane", HFD_FIELDS(view_fields), .size = sizeof(hf_view_out)};

#define VIEW(which) .kind = HFD_FIELD_OBJECT, .at = (which) * sizeof(hf_view_out), .table = &view_table
static const struct hfd_field views_fields[] = {
    {"frontal", VIEW(HF_FRONTAL), .what = "[x, z]"},
    {"sagittal", VIEW(HF_SAGITTAL), .what = "[y, z]"},
    {"occlusal", VIEW(HF_OCCLUSAL), .what = "[x, y]"},
};
static const struct hfd_table views_table = {
    "the three planes", HFD_FIELDS(views_fields), .size = HF_VIEW_COUNT * sizeof(hf_view_out)};

static const struct hfd_field initial_fields[] = {
    {"translation_um", VEC3, AT(hf_segment_out, translation_um), .what = "of the centre of resistance"},
    {"rotation_mdeg", VEC3, AT(hf_segment_out, rotation_mdeg), .what = "about the axes of the frame"},
};
static const struct hfd_table initial_table = {"the first movement in the ligament, an order of magnitude",
    HFD_FIELDS(initial_fields), .size = sizeof(hf_segment_out)};

static const struct hfd_field ligament_fields[] = {
    {"mean_kpa", HFD_FIELD_REAL, AT(hf_segment_out, mean_kpa),
        .what = "mean pressure where it is compressed"},
    {"peak_kpa", HFD_FIELD_REAL, AT(hf_segment_out, peak_kpa), .what = "largest pressure"},
};
static const struct hfd_table ligament_table = {
    "pressure across the ligament", HFD_FIELDS(ligament_fields), .size = sizeof(hf_segment_out)};

static const struct hfd_field recommended_fields[] = {
    {"movement", HFD_FIELD_ENUM, AT(hf_tooth_out, kind), .names = motion_names,
        .what = "kind of movement, by its largest part"},
    {"acting_n", HFD_FIELD_REAL, AT(hf_tooth_out, acting_n),
        .what = "force that makes it: along the tooth or across it"},
    {"low_n", HFD_FIELD_REAL, AT(hf_tooth_out, recommended_low_n), .what = "tables recommend at least"},
    {"high_n", HFD_FIELD_REAL, AT(hf_tooth_out, recommended_high_n), .what = "and at most"},
};
static const struct hfd_table recommended_table = {"what tables recommend for a tooth and a movement",
    HFD_FIELDS(recommended_fields), .size = sizeof(hf_tooth_out)};

static const struct hfd_field tooth_movement_fields[] = {
    {"tooth", HFD_FIELD_TOOTH, REQUIRED, AT(hf_tooth_out, tooth), .what = "the tooth in ISO 3950"},
    {"centre_of_resistance_mm", VEC3, AT(hf_tooth_out, centre_of_resistance_mm),
        .what = "of the tooth by itself"},
    {"translation_um", VEC3, AT(hf_tooth_out, translation_um), .what = "of that centre"},
    {"rotation_mdeg", VEC3, AT(hf_tooth_out, rotation_mdeg), .what = "about the axes of the frame"},
    {"movement", HFD_FIELD_TEXT, AT(hf_tooth_out, movement), .what = "the movement in words"},
    {"peak_kpa", HFD_FIELD_REAL, AT(hf_tooth_out, peak_kpa),
        .what = "peak compressive normal pressure on the root's surface"},
    {"force_n", VEC3, AT(hf_tooth_out, force_n), .what = "force that its ligament carries"},
    {"moment_nmm", VEC3, AT(hf_tooth_out, moment_nmm),
        .what = "moment that its ligament carries, about the tooth's centre of resistance"},
    {"recommended", HFD_FIELD_OBJECT, .table = &recommended_table,
        .what = "force by published tables, where it moves"},
};
static const struct hfd_table tooth_movement_table = {
    "one tooth of a segment", HFD_FIELDS(tooth_movement_fields), .size = sizeof(hf_tooth_out)};

static const struct hfd_field expected_fields[] = {
    {"movement", HFD_FIELD_TEXT, AT(hf_segment_out, expected_movement),
        .what = "movement that the rate was published for"},
    {"rate_mm_per_month", HFD_FIELD_OBJECT, AT(hf_segment_out, expected), .table = &hfd_range_table,
        .what = "of the segment's largest shift; saturating in force, 95 % of persons"},
    {"source", HFD_FIELD_TEXT, AT(hf_segment_out, expected_source), .what = "key of sources"},
};
static const struct hfd_table expected_table = {
    "what published rates let expect", HFD_FIELDS(expected_fields), .size = sizeof(hf_segment_out)};

static const struct hfd_field segment_fields[] = {
    {"name", HFD_FIELD_TEXT, REQUIRED, AT(hf_segment_out, name), .what = "name of the segment"},
    {"teeth", LIST(hf_segment_out, teeth, tooth_count), .item = HFD_FIELD_TOOTH,
        .what = "its teeth in ISO 3950"},
    {"centre_of_resistance_mm", VEC3, AT(hf_segment_out, centre_of_resistance_mm),
        .what = "centre of resistance"},
    {"centre_radius_mm", HFD_FIELD_REAL, AT(hf_segment_out, centre_radius_mm),
        .what = "the planes' own centres lie this close to it"},
    {"force_n", VEC3, AT(hf_segment_out, force_n), .what = "resultant force"},
    {"moment_nmm", VEC3, AT(hf_segment_out, moment_nmm),
        .what = "resultant moment about the centre of resistance"},
    {"local", HFD_FIELD_OBJECT, AT(hf_segment_out, local), .table = &local_table,
        .what = "in its own directions"},
    {"views", HFD_FIELD_OBJECT, AT(hf_segment_out, views), .table = &views_table, .what = "plane by plane"},
    {"movement", HFD_FIELD_TEXT, AT(hf_segment_out, movement), .what = "the movement in words"},
    {"initial", HFD_FIELD_OBJECT, .table = &initial_table, .what = "first movement"},
    {"ligament", HFD_FIELD_OBJECT, .table = &ligament_table, .what = "pressure across the ligament"},
    {"expected", HFD_FIELD_OBJECT, .table = &expected_table, .what = "expected rate of movement"},
    {"teeth_movement", LIST(hf_segment_out, teeth_movement, tooth_count), .table = &tooth_movement_table,
        .what = "tooth by tooth"},
    {"apart", HFD_FIELD_REAL, AT(hf_segment_out, apart),
        .what =
            "joined by a wire: greatest departure of a tooth from the group's movement, which is the mean of "
            "its teeth weighted with the stiffness of their ligaments, by the largest movement of a tooth"},
};
static const struct hfd_table segment_table = {
    "a segment", HFD_FIELDS(segment_fields), .size = sizeof(hf_segment_out)};

/* ---------------------------------------------------------------- plates */

static const struct hfd_field bar_fields[] = {
    {"from", HFD_FIELD_TEXT, AT(hf_plate_load, peak_from), .what = "node"},
    {"to", HFD_FIELD_TEXT, AT(hf_plate_load, peak_to), .what = "node"},
};
static const struct hfd_table bar_table = {"a bar", HFD_FIELDS(bar_fields), .size = sizeof(hf_plate_load)};

static const struct hfd_field plate_peak_fields[] = {
    {"peak_stress_mpa", HFD_FIELD_REAL, AT(hf_plate_load, peak_stress_mpa),
        .what = "largest von Mises stress"},
    {"peak_bar", HFD_FIELD_OBJECT, .table = &bar_table, .what = "the bar it is in"},
    {"yield_ratio", HFD_FIELD_REAL, AT(hf_plate_load, yield_ratio),
        .what = "stress over yield strength, the worst bar"},
};
static const struct hfd_table plate_peak_table = {
    "stress at the peak of the forces", HFD_FIELDS(plate_peak_fields), .size = sizeof(hf_plate_load)};

static const struct hfd_field fitting_fields[] = {
    {"node", HFD_FIELD_TEXT, AT(hf_fitting_out, node), .what = "name of the node"},
    {"deflection_mm", VEC3, AT(hf_fitting_out, deflection_mm), .what = "how far it gives"},
    {"rotation_mrad", VEC3, AT(hf_fitting_out, rotation_mrad), .what = "how far it turns"},
};
static const struct hfd_table fitting_table = {
    "a fitting", HFD_FIELDS(fitting_fields), .size = sizeof(hf_fitting_out)};

static const struct hfd_field gap_fields[] = {
    {"value", HFD_FIELD_REAL, AT(hf_plate_out, least_gap_mm), .what = "the least of the given gaps"},
    {"node", HFD_FIELD_TEXT, AT(hf_plate_out, least_gap_node), .what = "where it is"},
};
static const struct hfd_table gap_table = {
    "the least gap", HFD_FIELDS(gap_fields), .size = sizeof(hf_plate_out)};

static const struct hfd_field plate_fields[] = {
    {"name", HFD_FIELD_TEXT, REQUIRED, AT(hf_plate_out, name), .what = "name of the plate"},
    {"peak_stress_mpa", HFD_FIELD_REAL, AT(hf_plate_out, load.peak_stress_mpa),
        .what = "largest von Mises stress"},
    {"peak_bar", HFD_FIELD_OBJECT, AT(hf_plate_out, load), .table = &bar_table, .what = "the bar it is in"},
    {"yield_ratio", HFD_FIELD_REAL, AT(hf_plate_out, load.yield_ratio),
        .what = "stress over yield strength, the worst bar"},
    {"peak", HFD_FIELD_OBJECT, AT(hf_plate_out, peak), .table = &plate_peak_table,
        .what = "the same when every force was at its largest: what the findings judge"},
    {"fittings", LIST(hf_plate_out, fittings, fitting_count), .table = &fitting_table,
        .what = "what its fittings do"},
    {"least_tissue_gap_mm", HFD_FIELD_OBJECT, .table = &gap_table, .what = "the least gap to the tissue"},
};
static const struct hfd_table plate_table = {
    "a plate", HFD_FIELDS(plate_fields), .size = sizeof(hf_plate_out)};

/* ---------------------------------------------------------------- screws */

static const struct hfd_field head_fields[] = {
    {"force_n", VEC3, AT(hf_wrench, force), .what = "force of the plate on the head"},
    {"moment_nmm", VEC3, AT(hf_wrench, moment), .what = "moment about the head"},
};
static const struct hfd_table head_table = {
    "the load on the head", HFD_FIELDS(head_fields), .size = sizeof(hf_wrench)};

static const struct hfd_field cortex_fields[] = {
    {"peak_stress_mpa", HFD_FIELD_REAL, AT(hf_head_load, cortex_peak_mpa),
        .what = "the larger of the next two"},
    {"radial_stress_mpa", HFD_FIELD_REAL, AT(hf_head_load, cortex_radial_mpa),
        .what = "mean radial stress at the rim"},
    {"von_mises_stress_mpa", HFD_FIELD_REAL, AT(hf_head_load, cortex_von_mises_mpa),
        .what = "von Mises stress at the rim"},
    {"of_limit", HFD_FIELD_REAL, AT(hf_head_load, cortex_of_limit), .what = "peak over the limit"},
    {"strain_microstrain", HFD_FIELD_REAL, AT(hf_head_load, strain_microstrain),
        .what = "largest principal strain 0.5 to 1 mm from the screw"},
};
static const struct hfd_table cortex_table = {
    "the cortex", HFD_FIELDS(cortex_fields), .size = sizeof(hf_head_load)};

#define SHARES(type, load)                                                                                   \
    {"axis_moment_of_removal", HFD_FIELD_REAL, AT(type, load removal_ratio),                                 \
        .what = "unscrewing moment over long-term removal torque"},                                          \
        {"pull_out", HFD_FIELD_REAL, AT(type, load pull_out_ratio),                                          \
            .what = "axial pull over pull-out force"},                                                       \
    {                                                                                                        \
        "core_torsion", HFD_FIELD_REAL, AT(type, load core_torsion_ratio),                                   \
            .what = "axis moment over torsion of the core"                                                   \
    }

static const struct hfd_field capacity_fields[] = {
    SHARES(hf_screw_out, load.),
    {"insertion_torque", HFD_FIELD_ENUM, AT(hf_screw_out, insertion_torque), .names = window_names,
        .what = "where the torque at placement lies to the published window"},
};
static const struct hfd_table capacity_table = {
    "what the screw can bear", HFD_FIELDS(capacity_fields), .size = sizeof(hf_screw_out)};

#define ENDS(member) .kind = HFD_FIELD_REALS, .count = 2, AT(hf_sharing, member)
static const struct hfd_field sharing_fields[] = {
    {"lateral_n", ENDS(lateral_n), .what = "across the axis"},
    {"axial_n", ENDS(axial_n), .what = "along the axis, + pulls out"},
    {"bending_at_bone_nmm", ENDS(bending_at_bone_nmm), .what = "bending moment at the bone surface"},
    {"cortex_peak_mpa", ENDS(cortex_peak_mpa), .what = "peak stress in the cortex"},
};
static const struct hfd_table sharing_table = {"the load at both ends of how bone may hold the screws",
    HFD_FIELDS(sharing_fields), .size = sizeof(hf_sharing)};

static const struct hfd_field peak_capacity_fields[] = {SHARES(hf_head_load, )};
static const struct hfd_table peak_capacity_table = {
    "shares of what the screw can bear", HFD_FIELDS(peak_capacity_fields), .size = sizeof(hf_head_load)};

static const struct hfd_field screw_peak_fields[] = {
    {"force_n", VEC3, AT(hf_head_load, head.force), .what = "force of the plate on the head"},
    {"moment_nmm", VEC3, AT(hf_head_load, head.moment), .what = "moment about the head"},
    {"axial_n", HFD_FIELD_REAL, AT(hf_head_load, axial_n), .what = "along the axis, + pulls out"},
    {"lateral_n", HFD_FIELD_REAL, AT(hf_head_load, lateral_n), .what = "across the axis"},
    {"bending_at_bone_nmm", HFD_FIELD_REAL, AT(hf_head_load, bending_at_bone_nmm),
        .what = "bending moment at the bone surface"},
    {"axis_moment_nmm", HFD_FIELD_REAL, AT(hf_head_load, axis_moment_nmm),
        .what = "about the axis, + unscrews"},
    {"cortex", HFD_FIELD_OBJECT, .table = &cortex_table, .what = "load on the cortex"},
    {"capacity", HFD_FIELD_OBJECT, .table = &peak_capacity_table,
        .what = "shares of what the screw can bear"},
};
static const struct hfd_table screw_peak_table = {
    "the load at the peak of the forces", HFD_FIELDS(screw_peak_fields), .size = sizeof(hf_head_load)};

static const struct hfd_field limit_fields[] = {
    {"cortex_caution_mpa", HFD_FIELD_REAL, AT(hf_screw_limits, cortex_caution_mpa),
        .what = "stress at the rim from which bone resorbs"},
    {"cortex_stop_mpa", HFD_FIELD_REAL, AT(hf_screw_limits, cortex_stop_mpa),
        .what = "stress that it must stay far under"},
    {"unscrewing_note_nmm", HFD_FIELD_REAL, AT(hf_screw_limits, unscrewing_note_nmm),
        .what = "axis moment worth naming"},
    {"unscrewing_caution_nmm", HFD_FIELD_REAL, AT(hf_screw_limits, unscrewing_caution_nmm),
        .what = "axis moment that gets a caution"},
    {"unscrewing_stop_nmm", HFD_FIELD_REAL, AT(hf_screw_limits, unscrewing_stop_nmm),
        .what = "axis moment that says stop"},
    {"pull_out_caution", HFD_FIELD_REAL, AT(hf_screw_limits, pull_out_caution),
        .what = "`pull_out` that gets a caution"},
    {"core_torsion_caution", HFD_FIELD_REAL, AT(hf_screw_limits, core_torsion_caution),
        .what = "`core_torsion` that gets a caution"},
    {"insertion_torque_low_ncm", HFD_FIELD_REAL, AT(hf_screw_limits, torque_low_ncm),
        .what = "window of the site and diameter; left out: none is published"},
    {"insertion_torque_high_ncm", HFD_FIELD_REAL, AT(hf_screw_limits, torque_high_ncm),
        .what = "its upper end"},
};
static const struct hfd_table limit_table = {
    "what the findings compare the load with", HFD_FIELDS(limit_fields), .size = sizeof(hf_screw_limits)};

static const struct hfd_field screw_fields[] = {
    {"name", HFD_FIELD_TEXT, REQUIRED, AT(hf_screw_out, name), .what = "name of the screw"},
    {"head_mm", VEC3, AT(hf_screw_out, head_mm), .what = "where its head is"},
    {"head", HFD_FIELD_OBJECT, AT(hf_screw_out, load.head), .table = &head_table,
        .what = "what the plate puts on the head"},
    {"axial_n", HFD_FIELD_REAL, AT(hf_screw_out, load.axial_n), .what = "along the axis, + pulls out"},
    {"lateral_n", HFD_FIELD_REAL, AT(hf_screw_out, load.lateral_n), .what = "across the axis"},
    {"bending_at_bone_nmm", HFD_FIELD_REAL, AT(hf_screw_out, load.bending_at_bone_nmm),
        .what = "bending moment at the bone surface"},
    {"axis_moment_nmm", HFD_FIELD_REAL, AT(hf_screw_out, load.axis_moment_nmm),
        .what = "about the axis, + unscrews"},
    {"unscrewing", HFD_FIELD_BOOL, AT(hf_screw_out, unscrewing), .what = "the axis moment unscrews"},
    {"cortex", HFD_FIELD_OBJECT, AT(hf_screw_out, load), .table = &cortex_table,
        .what = "load on the cortex"},
    {"capacity", HFD_FIELD_OBJECT, .table = &capacity_table, .what = "shares of what the screw can bear"},
    {"limits", HFD_FIELD_OBJECT, AT(hf_screw_out, limits), .table = &limit_table,
        .what = "what the findings compare the load with"},
    {"insertion_torque_ncm", HFD_FIELD_REAL, AT(hf_screw_out, insertion_torque_ncm), .what = "as given"},
    {"sharing", HFD_FIELD_OBJECT, AT(hf_screw_out, sharing), .table = &sharing_table,
        .what =
            "[smaller, larger] of bonded and fresh; the other figures are those of bonded screws. Left out when the document fixes `interface_factor`"},
    {"peak", HFD_FIELD_OBJECT, AT(hf_screw_out, peak), .table = &screw_peak_table,
        .what = "the same when every force was at its largest: what the findings judge"},
    {"head_displacement_um", HFD_FIELD_LENGTH, AT(hf_screw_out, head_displacement_mm), .scale = 1000.0,
        .what = "how far the head moves, an order of magnitude"},
};
static const struct hfd_table screw_table = {
    "a screw", HFD_FIELDS(screw_fields), .size = sizeof(hf_screw_out)};

/* ---------------------------------------------------------------- stability */

static const struct hfd_field cause_fields[] = {
    {"factor", HFD_FIELD_TEXT, AT(hf_cause, factor), .what = "what bears on the risk"},
    {"base_loss", HFD_FIELD_REAL, AT(hf_cause, base_loss), .what = "share lost, of the site"},
    {"odds_ratio", HFD_FIELD_REAL, AT(hf_cause, odds_ratio), .what = "of the others"},
    {"placed", HFD_FIELD_INT, AT(hf_cause, placed), .what = "the clinic's own screws at the site"},
    {"lost", HFD_FIELD_INT, AT(hf_cause, lost), .what = "how many of them were lost"},
    {"source", HFD_FIELD_TEXT, AT(hf_cause, source), .what = "key of sources, or plain words"},
    {"evidence", HFD_FIELD_TEXT, AT(hf_cause, evidence),
        .what = "key of the row of /v1/evidence that has it with its range"},
    {"held", HFD_FIELD_TEXT, AT(hf_cause, held),
        .what = "how that number is held: read, value from memory, judgement …"},
};
static const struct hfd_table cause_table = {
    "a contribution", HFD_FIELDS(cause_fields), .size = sizeof(hf_cause)};

static const struct hfd_field screw_risk_fields[] = {
    {"name", HFD_FIELD_TEXT, REQUIRED, AT(hf_screw_out, name), .what = "name of the screw"},
    {"loss", HFD_FIELD_OBJECT, AT(hf_screw_out, loss), .table = &hfd_range_table,
        .what = "share lost within the horizon"},
    {"because", LIST(hf_screw_out, causes, cause_count), .table = &cause_table, .what = "every contribution"},
};
static const struct hfd_table screw_risk_table = {
    "a screw's risk", HFD_FIELDS(screw_risk_fields), .size = sizeof(hf_screw_out)};

static const struct hfd_field plate_risk_fields[] = {
    {"name", HFD_FIELD_TEXT, REQUIRED, AT(hf_plate_risk, plate), .what = "name of the plate"},
    {"any_screw_lost", HFD_FIELD_OBJECT, AT(hf_plate_risk, any_lost), .table = &hfd_range_table,
        .what = "at least one"},
    {"all_screws_lost", HFD_FIELD_OBJECT, AT(hf_plate_risk, all_lost), .table = &hfd_range_table,
        .what = "all of them"},
};
static const struct hfd_table plate_risk_table = {
    "a plate's risk", HFD_FIELDS(plate_risk_fields), .size = sizeof(hf_plate_risk)};

static const struct hfd_field stability_fields[] = {
    {"horizon_days", HFD_FIELD_INT, AT(hf_answer, horizon_days), .what = "days that the risk is told for"},
    {"screws", LIST(hf_answer, screws, screw_count), .table = &screw_risk_table, .what = "screw by screw"},
    {"plate", LIST(hf_answer, plate_risks, plate_risk_count), .flags = HFD_FIELD_SINGLE,
        .table = &plate_risk_table, .what = "the plate, when there is one"},
    {"plates", LIST(hf_answer, plate_risks, plate_risk_count),
        .flags = HFD_FIELD_SEVERAL | HFD_FIELD_OMIT_EMPTY, .table = &plate_risk_table,
        .what = "the plates, when there are several"},
};
static const struct hfd_table stability_table = {
    "stability", HFD_FIELDS(stability_fields), .size = sizeof(hf_answer)};

/* ---------------------------------------------------------------- uncertainty */

#define RANGE .kind = HFD_FIELD_OBJECT, .table = &hfd_range_table
static const struct hfd_field screw_spread_fields[] = {
    {"name", HFD_FIELD_TEXT, REQUIRED, AT(hf_screw_spread, name), .what = "name of the screw"},
    {"cortex_peak_mpa", RANGE, AT(hf_screw_spread, cortex_peak_mpa), .what = "peak stress in the cortex"},
    {"strain_microstrain", RANGE, AT(hf_screw_spread, strain_microstrain), .what = "strain beside the screw"},
    {"axis_moment_nmm", RANGE, AT(hf_screw_spread, axis_moment_nmm), .what = "about the axis, + unscrews"},
};
static const struct hfd_table screw_spread_table = {
    "ranges of a screw", HFD_FIELDS(screw_spread_fields), .size = sizeof(hf_screw_spread)};

static const struct hfd_field segment_spread_fields[] = {
    {"name", HFD_FIELD_TEXT, REQUIRED, AT(hf_segment_spread, name), .what = "name of the segment"},
    {"translation_um", RANGE, AT(hf_segment_spread, translation_um),
        .what = "of the centre of resistance, along the direction told"},
    {"rotation_mdeg", RANGE, AT(hf_segment_spread, rotation_mdeg), .what = "about the direction told"},
};
static const struct hfd_table segment_spread_table = {
    "ranges of a segment", HFD_FIELDS(segment_spread_fields), .size = sizeof(hf_segment_spread)};

static const struct hfd_field uncertainty_fields[] = {
    {"samples", HFD_FIELD_INT, AT(hf_answer, samples), .what = "draws of the uncertain inputs"},
    {"seed", HFD_FIELD_INT, AT(hf_answer, seed), .what = "which draws"},
    {"screws", LIST(hf_answer, screw_spreads, screw_spread_count), .flags = HFD_FIELD_OMIT_EMPTY,
        .table = &screw_spread_table, .what = "5, 50 and 95 % of each screw that carries a seat"},
    {"segments", LIST(hf_answer, segment_spreads, segment_spread_count), .flags = HFD_FIELD_OMIT_EMPTY,
        .table = &segment_spread_table, .what = "5, 50 and 95 % of each segment's first movement"},
};
static const struct hfd_table uncertainty_table = {
    "what the uncertain inputs make of it", HFD_FIELDS(uncertainty_fields), .size = sizeof(hf_answer)};

/* ---------------------------------------------------------------- jaws */

static const char *const jaw_names[] = {"maxilla", "mandible", NULL};

static const struct hfd_field jaw_fields[] = {
    {"jaw", HFD_FIELD_ENUM, REQUIRED, AT(hf_jaw_out, jaw), .names = jaw_names, .what = "the jaw"},
    {"force_n", VEC3, AT(hf_jaw_out, force_n), .what = "all that the jaw's plates hand to its bone"},
    {"moment_nmm", VEC3, AT(hf_jaw_out, moment_nmm), .what = "its moment about `about_mm`"},
    {"about_mm", VEC3, AT(hf_jaw_out, about_mm),
        .what = "centre of the nasomaxillary complex; of the mandible the hinge axis"},
    {"line_mm", VEC3, AT(hf_jaw_out, line_mm), .what = "point of the resultant's line nearest to that"},
    {"rotation", HFD_FIELD_TEXT, AT(hf_jaw_out, rotation), .what = "how it would turn the jaw, in words"},
    {"hours_per_day", HFD_FIELD_REAL, AT(hf_jaw_out, hours_per_day),
        .what = "wear of the elastics that leave the jaw, weighted with their forces"},
    {"day_mean_n", HFD_FIELD_REAL, AT(hf_jaw_out, day_mean_n),
        .what = "the resultant averaged over the day: the effective dose"},
};
static const struct hfd_table jaw_table = {
    "what a jaw gets through its plates", HFD_FIELDS(jaw_fields), .size = sizeof(hf_jaw_out)};

/* ---------------------------------------------------------------- findings, assumptions, sources */

#define SUBJECT(which) .kind = HFD_FIELD_TEXT, AT(hf_finding, name), .choice = HFD_CHOICE(which)
static const struct hfd_field subject_fields[] = {
    {"screw", SUBJECT(HF_ABOUT_SCREW), .what = "name"},
    {"plate", SUBJECT(HF_ABOUT_PLATE), .what = "name"},
    {"segment", SUBJECT(HF_ABOUT_SEGMENT), .what = "name"},
    {"element", SUBJECT(HF_ABOUT_ELEMENT), .what = "name"},
    {"node", SUBJECT(HF_ABOUT_NODE), .what = "name"},
};
static const struct hfd_table subject_table = {"what a finding is about", HFD_FIELDS(subject_fields),
    .size = sizeof(hf_finding), .choice_at = offsetof(hf_finding, subject)};

static const struct hfd_field finding_fields[] = {
    {"code", HFD_FIELD_TEXT, REQUIRED, AT(hf_finding, code), .what = "what was found"},
    {"severity", HFD_FIELD_ENUM, REQUIRED, AT(hf_finding, severity), .names = severity_names,
        .what = "note, caution or stop"},
    {"subject", HFD_FIELD_OBJECT, .table = &subject_table, .what = "left out: the case as a whole"},
    {"message", HFD_FIELD_TEXT, REQUIRED, AT(hf_finding, message), .what = "in words"},
    {"value", HFD_FIELD_REAL, AT(hf_finding, value), .what = "the figure"},
    {"limit", HFD_FIELD_REAL, AT(hf_finding, limit), .what = "what it is compared with"},
    {"source", HFD_FIELD_TEXT, AT(hf_finding, source), .what = "key of sources, or plain words"},
};
const struct hfd_table hfd_finding_table = {
    "a finding", HFD_FIELDS(finding_fields), .size = sizeof(hf_finding)};

static const struct hfd_field assumed_value_fields[] = {
    {"real", HFD_FIELD_REAL, AT(hf_assumption, real), .choice = HFD_CHOICE(HF_ASSUMED_REAL),
        .what = "a number"},
    {"vec3", VEC3, AT(hf_assumption, vec3), .choice = HFD_CHOICE(HF_ASSUMED_VEC3), .what = "a vector"},
    {"text", HFD_FIELD_TEXT, AT(hf_assumption, text), .choice = HFD_CHOICE(HF_ASSUMED_TEXT),
        .what = "a text"},
};
static const struct hfd_table assumed_value_table = {"an assumed value", HFD_FIELDS(assumed_value_fields),
    .size = sizeof(hf_assumption), .choice_at = offsetof(hf_assumption, kind)};

static const struct hfd_field assumed_fields[] = {
    {"pointer", HFD_FIELD_TEXT, REQUIRED, AT(hf_assumption, pointer),
        .what = "where the value would stand in the document"},
    {"value", HFD_FIELD_EITHER, REQUIRED, .table = &assumed_value_table, .what = "what was used"},
    {"source", HFD_FIELD_TEXT, AT(hf_assumption, source), .what = "key of sources, or plain words"},
};
static const struct hfd_table assumed_table = {
    "an assumption", HFD_FIELDS(assumed_fields), .size = sizeof(hf_assumption)};

static const struct hfd_field source_fields[] = {
    {"key", HFD_FIELD_TEXT, AT(hf_source, key), .what = "key"},
    {"citation", HFD_FIELD_TEXT, AT(hf_source, citation), .what = "citation"},
};
const struct hfd_table hfd_source_table = {"a source", HFD_FIELDS(source_fields), .size = sizeof(hf_source)};

/* ---------------------------------------------------------------- the whole */

static const struct hfd_field model_fields[] = {
    {"core", HFD_FIELD_TEXT, REQUIRED, AT(struct hfd_answer_view, core),
        .what = "version of the computation"},
    {"parameters", HFD_FIELD_TEXT, REQUIRED, AT(struct hfd_answer_view, parameters),
        .what = "version of the constants"},
};
static const struct hfd_table model_table = {
    "the model", HFD_FIELDS(model_fields), .size = sizeof(struct hfd_answer_view)};

static const struct hfd_field equilibrium_fields[] = {
    {"force_residual_n", HFD_FIELD_REAL, AT(hf_answer, force_residual_n), .what = "of the worst free body"},
    {"moment_residual_nmm", HFD_FIELD_REAL, AT(hf_answer, moment_residual_nmm),
        .what = "of the worst free body"},
};
static const struct hfd_table equilibrium_table = {
    "how well every free body is in balance", HFD_FIELDS(equilibrium_fields), .size = sizeof(hf_answer)};

#define VIEW_LIST(items, number) LIST(struct hfd_answer_view, answer.items, answer.number)
#define MECHANICS .flags = HFD_FIELD_WHOLE
static const struct hfd_field answer_fields[] = {
    {"model", HFD_FIELD_OBJECT, REQUIRED, .table = &model_table, .what = "versions of what computed this"},
    {"digest", HFD_FIELD_TEXT, REQUIRED, AT(struct hfd_answer_view, digest),
        .what = "SHA-256 of the input's canonical form (RFC 8785)"},
    {"on", HFD_FIELD_DATE, AT(struct hfd_answer_view, answer.on), .what = "date of the evaluation"},
    {"elements", VIEW_LIST(elements, element_count), MECHANICS, .table = &element_table,
        .what = "forces at the date"},
    {"segments", VIEW_LIST(segments, segment_count), MECHANICS, .table = &segment_table,
        .what = "force systems"},
    {"plates", VIEW_LIST(plates, plate_count), MECHANICS, .table = &plate_table, .what = "stress and give"},
    {"screws", VIEW_LIST(screws, screw_count), MECHANICS, .table = &screw_table,
        .what = "loads and what they are measured by"},
    {"orthopaedic", VIEW_LIST(jaws, jaw_count), .flags = HFD_FIELD_WHOLE | HFD_FIELD_OMIT_EMPTY,
        .table = &jaw_table,
        .what = "jaw by jaw, where elastics pull its plates against the other jaw or something outside"},
    {"equilibrium", HFD_FIELD_OBJECT, MECHANICS, AT(struct hfd_answer_view, answer),
        .table = &equilibrium_table, .what = "residuals"},
    {"stability", HFD_FIELD_OBJECT, REQUIRED, AT(struct hfd_answer_view, answer), .table = &stability_table,
        .what = "risk of losing screws"},
    {"uncertainty", HFD_FIELD_OBJECT, AT(struct hfd_answer_view, answer), .table = &uncertainty_table,
        .present_at = offsetof(struct hfd_answer_view, answer.has_uncertainty),
        .what = "ranges; when the document asks for them, and with a visit's stability"},
    {"findings", VIEW_LIST(findings, finding_count), .table = &hfd_finding_table,
        .what = "what to know beside the numbers"},
    {"assumed", VIEW_LIST(assumed, assumed_count), .table = &assumed_table, .what = "what was filled in"},
    {"sources", .kind = HFD_FIELD_MAP, .at = offsetof(struct hfd_answer_view, answer.sources),
        .count_at = offsetof(struct hfd_answer_view, answer.source_count), .table = &hfd_source_table,
        .what = "citations by key"},
    {"notice", HFD_FIELD_TEXT, REQUIRED, AT(struct hfd_answer_view, answer.notice),
        .what = "what this is for"},
};
const struct hfd_table hfd_answer_table = {
    "the answer", HFD_FIELDS(answer_fields), .size = sizeof(struct hfd_answer_view)};
