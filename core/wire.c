#include "wire.h"

#include <math.h>
#include <string.h>

const hf_alloy hf_alloys[] = {
#define ALLOY(NAME, name, several)                                                                           \
    { name, HF_EV_##NAME##_MODULUS, HF_EV_##NAME##_POISSON, HF_EV_##NAME##_YIELD, several }
    ALLOY(STAINLESS_STEEL_WIRE, "stainless-steel-wire", false),
    ALLOY(BETA_TITANIUM, "beta-titanium", true),
    ALLOY(COBALT_CHROMIUM, "cobalt-chromium", false),
    ALLOY(NICKEL_TITANIUM_WIRE, "nickel-titanium-work-hardened", false),
#undef ALLOY
};

const size_t hf_alloy_count = sizeof hf_alloys / sizeof *hf_alloys;

const hf_alloy *hf_alloy_find(const char *name) {
    for (size_t i = 0; i < hf_alloy_count; i++)
        if (strcmp(hf_alloys[i].name, name) == 0) return &hf_alloys[i];
    return NULL;
}

hf_material hf_alloy_material(const hf_alloy *alloy) {
    return (hf_material){.name = alloy->name,
        .modulus_mpa = hf_evidence_table[alloy->modulus].value,
        .poisson = hf_evidence_table[alloy->poisson].value,
        .yield_mpa = hf_evidence_table[alloy->yield].value,
        .source = hf_evidence_table[alloy->yield].source};
}

hf_wire hf_wire_of(const hf_section_in *section, hf_wire_way way, const hf_material *material) {
    hf_section s = hf_section_of(section, material->poisson);
    bool flat = way == HF_WIRE_FLAT;
    return (hf_wire){.section = s,
        .way = way,
        .modulus_mpa = material->modulus_mpa,
        .yield_mpa = material->yield_mpa,
        .ei_nmm2 = material->modulus_mpa * (flat ? s.iy_mm4 : s.iz_mm4),
        .bending_mm3 = flat ? s.zy_mm3 : s.zz_mm3};
}

hf_wire_band hf_wire_bevelled(const hf_wire *nominal) {
    double ei = nominal->ei_nmm2;
    if (nominal->section.round) return (hf_wire_band){ei, ei, ei};
    const hf_evidence *bevel = &hf_evidence_table[HF_EV_WIRE_BEVEL];
    return (hf_wire_band){ei * bevel->low, ei * bevel->value, ei * bevel->high};
}

hf_wire hf_wire_with_ei(const hf_wire *wire, double ei_nmm2) {
    hf_wire w = *wire;
    w.bending_mm3 *= ei_nmm2 / wire->ei_nmm2;
    w.ei_nmm2 = ei_nmm2;
    return w;
}

double hf_wire_section_number(const hf_wire *wire) {
    double d2 = HF_EV(WIRE_UNIT_DIAMETER) * HF_EV(WIRE_UNIT_DIAMETER);
    return wire->ei_nmm2 / wire->modulus_mpa / (M_PI * d2 * d2 / 64.0);
}

double hf_wire_number(const hf_wire *wire) {
    return hf_wire_section_number(wire) * wire->modulus_mpa / HF_EV(STAINLESS_STEEL_WIRE_MODULUS);
}

/* A beam whose ends are brought to these slopes, and its end B to this height over A. */
static hf_wire_couples held(double ei, double span, double slope_a, double slope_b, double height_b) {
    double chord = height_b / span;
    double a = 2.0 * ei / span * (2.0 * slope_a + slope_b - 3.0 * chord);
    double b = 2.0 * ei / span * (slope_a + 2.0 * slope_b - 3.0 * chord);
    return (hf_wire_couples){a, b, (a + b) / span};
}

hf_wire_couples hf_wire_angled(double ei_nmm2, double span_mm, double angle_a_rad, double angle_b_rad) {
    return held(ei_nmm2, span_mm, angle_a_rad, angle_b_rad, 0.0);
}

/* Left free at B, a bent wire ends at another height and slope; the brackets bring both back to nothing. */
hf_wire_couples hf_wire_v_bend(double ei_nmm2, double span_mm, double at_mm, double bend_rad) {
    return held(ei_nmm2, span_mm, 0.0, -bend_rad, -bend_rad * (span_mm - at_mm));
}

hf_wire_couples hf_wire_step_bend(double ei_nmm2, double span_mm, double step_mm) {
    return held(ei_nmm2, span_mm, 0.0, 0.0, -step_mm);
}

double hf_coil_rate(const hf_coil *coil) {
    double slenderness = coil->wire_mm / coil->mean_mm;
    return coil->shear_modulus_mpa * coil->wire_mm * slenderness * slenderness * slenderness /
           (8.0 * coil->turns);
}

double hf_coil_stress(const hf_coil *coil, double force_n) {
    double d = coil->wire_mm, index = coil->mean_mm / d;
    double wahl = (4.0 * index - 1.0) / (4.0 * index - 4.0) + HF_EV(SPRING_WAHL) / index;
    return wahl * 8.0 * fabs(force_n) * index / (M_PI * d * d);
}
