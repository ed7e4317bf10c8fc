#include "case.h"

static hf_section_in section_absent(void) {
    return (hf_section_in){
        .kind = HF_SECTION_NONE, .round_mm = NAN, .rectangle_mm = {NAN, NAN}, .wire_in = {NAN, NAN}};
}

static hf_material_in material_absent(void) {
    return (hf_material_in){.name = NULL, .modulus_mpa = NAN, .poisson = NAN, .yield_mpa = NAN};
}

static hf_supply_in supply_absent(void) {
    return (hf_supply_in){.rest_length_mm = NAN,
        .extension_mm = NAN,
        .force_at_double_n = NAN,
        .stretch_power = NAN,
        .rate_n_per_mm = NAN,
        .loading_n = NAN,
        .unloading_n = NAN,
        .tail_n_per_mm = NAN,
        .most_extension_mm = NAN,
        .wire_mm = NAN,
        .turns = NAN,
        .lumen_mm = NAN,
        .label_force_n = NAN};
}

static hf_end_in end_absent(void) {
    return (hf_end_in){
        .kind = HF_END_NONE,
        .tooth = HF_ABSENT,
        .at = HF_AT_BRACKET,
        .offset_mm = hf_vec3_absent(),
        .at_mm = hf_point_default(),
        .fixed_mm = hf_point_default(),
    };
}

hf_point hf_point_default(void) {
    return (hf_point){
        .kind = HF_POINT_NONE,
        .xyz_mm = hf_vec3_absent(),
        .tooth = HF_ABSENT,
        .mesial_mm = NAN,
        .buccal_mm = NAN,
        .occlusal_mm = NAN,
        .right_mm = NAN,
        .behind_incisors_mm = NAN,
        .between = {HF_ABSENT, HF_ABSENT},
        .apical_mm = NAN,
        .clear_mm = NAN,
    };
}

hf_root hf_root_default(void) {
    return (hf_root){
        .length_mm = NAN,
        .mesiodistal_mm = NAN,
        .buccolingual_mm = NAN,
        .exponent = NAN,
        .offset_mm = hf_vec3_absent(),
    };
}

hf_tooth_in hf_tooth_default(void) {
    return (hf_tooth_in){
        .tooth = HF_ABSENT,
        .crest_mm = hf_vec3_absent(),
        .root_axis = hf_vec3_absent(),
        .mesial_axis = hf_vec3_absent(),
        .bone_loss_mm = NAN,
        .ligament = {.thickness_mm = NAN, .normal_modulus_mpa = NAN, .shear_modulus_mpa = NAN},
    };
}

hf_segment_in hf_segment_default(void) {
    return (hf_segment_in){
        .wired = false, .wire_section = section_absent(), .wire_material = material_absent()};
}

hf_site_in hf_site_default(void) {
    return (hf_site_in){
        .jaw = HF_JAW_COUNT, /* an enumeration has no other way to say "left out" */
        .loss_low = NAN,
        .loss_mid = NAN,
        .loss_high = NAN,
        .cortex_mm = NAN,
        .cancellous_modulus_mpa = NAN,
        .torque_low_ncm = NAN,
        .torque_high_ncm = NAN,
        .own_placed = HF_ABSENT,
        .own_lost = HF_ABSENT,
        .own_treatments = NAN,
    };
}

hf_screw_in hf_screw_default(void) {
    return (hf_screw_in){
        .entry = hf_point_default(),
        .axis = hf_vec3_absent(),
        .axis_perpendicular = false,
        .tilt_deg = NAN,
        .diameter_mm = NAN,
        .core_mm = NAN,
        .length_mm = NAN,
        .thread_pitch_mm = NAN,
        .tissue_mm = NAN,
        .stand_off_mm = NAN,
        .cortex_mm = NAN,
        .cortex_modulus_mpa = NAN,
        .cancellous_modulus_mpa = NAN,
        .modulus_mpa = NAN,
        .poisson = NAN,
        .interface_factor = NAN,
        .placed_on = HF_ABSENT,
        .insertion_torque_ncm = NAN,
        .root_distance_mm = NAN,
        .mucosa = HF_MUCOSA_ABSENT,
        .mobility_grade = HF_ABSENT,
        .inflammation_grade = HF_ABSENT,
        .percussion_score = NAN,
        .resonance_score = NAN,
        .resonance_at_placement = NAN,
        .predrilled = HF_ABSENT,
        .placed_by_count = HF_ABSENT,
    };
}

hf_node_in hf_node_default(void) {
    return (hf_node_in){.at = hf_point_default(), .tissue_gap_mm = NAN};
}

hf_bar_in hf_bar_default(void) {
    return (hf_bar_in){
        .section = section_absent(), .normal = hf_vec3_absent(), .material = material_absent()};
}

hf_fitting_in hf_fitting_default(void) {
    return (hf_fitting_in){.kind = HF_FITTING_HOOK, .axis = hf_vec3_absent(), .slot_in = {NAN, NAN}};
}

hf_plate_in hf_plate_default(void) {
    return (hf_plate_in){.material = material_absent()};
}

hf_element_in hf_element_default(void) {
    return (hf_element_in){
        .kind = HF_ELEMENT_CHAIN,
        .from = end_absent(),
        .to = end_absent(),
        .force_n = NAN,
        .reading_after_s = NAN,
        .supply = supply_absent(),
        .wire_section = section_absent(),
        .wire_material = material_absent(),
        .edgewise = HF_ABSENT,
        .length_mm = NAN,
        .helix_mm = NAN,
        .activation_mm = NAN,
        .pull = hf_vec3_absent(),
        .applied_force_n = hf_vec3_absent(),
        .applied_moment_nmm = hf_vec3_absent(),
        .activated_on = HF_ABSENT,
        .remaining_28d = NAN,
        .renewed_daily = HF_ABSENT,
        .hours_per_day = NAN,
    };
}

hf_case hf_case_default(void) {
    hf_arch arch = {.width_mm = NAN, .depth_mm = NAN, .vault_height_mm = NAN, .centre_mm = hf_vec3_absent()};
    return (hf_case){
        .on = HF_ABSENT,
        .arches = {[HF_MAXILLA] = arch, [HF_MANDIBLE] = arch},
        .patient = {.age_years = NAN, .cigarettes_per_day = NAN},
        .uncertainty = {.samples = HF_ABSENT, .seed = HF_ABSENT},
        .horizon_days = HF_ABSENT,
    };
}
