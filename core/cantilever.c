#include "cantilever.h"

#include <math.h>

hf_cantilever_in hf_cantilever_default(void) {
    return (hf_cantilever_in){.length_mm = NAN, .helix_mm = NAN, .force_n = NAN, .activation_mm = NAN};
}

static bool is_above(double value, double low) {
    return isfinite(value) && value > low;
}

static bool is_given_badly(double value) {
    return !isnan(value) && !(value >= 0.0 && isfinite(value));
}

const char *hf_cantilever_check(const hf_cantilever_in *in) {
    if (!is_above(in->wire.ei_nmm2, 0.0) || !is_above(in->wire.bending_mm3, 0.0))
        return "the wire needs a section and a modulus";
    if (!is_above(in->length_mm, 0.0)) return "the length must be above 0";
    if (is_given_badly(in->helix_mm)) return "the wire in the helix must be 0 or more";
    if (isnan(in->force_n) == isnan(in->activation_mm))
        return "either the force or the activation must be given";
    if (is_given_badly(in->force_n)) return "the force must be 0 or more";
    if (is_given_badly(in->activation_mm)) return "the activation must be 0 or more";
    return NULL;
}

/* Helix at the mouth: all of its wire feels the couple at the tube. */
static double helix_of(const hf_cantilever_in *in) {
    return isnan(in->helix_mm) ? 0.0 : in->helix_mm;
}

static hf_cantilever linear(const hf_cantilever_in *in) {
    double ei = in->wire.ei_nmm2, length = in->length_mm, helix = helix_of(in);
    double give = length * length * (length / 3.0 + helix) / ei; /* mm/N */
    double force = isnan(in->force_n) ? in->activation_mm / give : in->force_n;
    return (hf_cantilever){.force_n = force,
        .activation_mm = force * give,
        .reach_mm = length,
        .tip_slope_rad = force * length * (length / 2.0 + helix) / ei,
        .couple_nmm = force * length};
}

static hf_elastica_status large(const hf_cantilever_in *in, hf_cantilever *out) {
    double ei = in->wire.ei_nmm2, length = in->length_mm;
    double unit_force = ei / (length * length), give = helix_of(in) / length;
    hf_elastica bent;
    hf_elastica_status status;
    if (isnan(in->force_n)) {
        status = hf_elastica_deflected(in->activation_mm / length, 0.0, give, &bent);
    } else {
        hf_elastica_load load = {.py = in->force_n / unit_force, .give = give};
        status = hf_elastica_loaded(&load, &bent);
    }
    *out = (hf_cantilever){.force_n = bent.py * unit_force,
        .activation_mm = bent.y * length,
        .reach_mm = bent.x * length,
        .tip_slope_rad = bent.slope,
        .couple_nmm = bent.root_curvature * ei / length,
        .large = !isnan(bent.py)};
    return status;
}

hf_cantilever hf_cantilever_absent(void) {
    return (hf_cantilever){NAN, NAN, NAN, NAN, NAN, NAN, NAN, false, false};
}

hf_elastica_status hf_cantilever_of(const hf_cantilever_in *in, hf_cantilever *out) {
    *out = hf_cantilever_absent();
    if (hf_cantilever_check(in)) return HF_ELASTICA_OUTSIDE;
    hf_elastica_status status = HF_ELASTICA_ONLY;
    *out = linear(in);
    if (!(out->tip_slope_rad < HF_EV(WIRE_LINEAR_SLOPE))) status = large(in, out);
    out->stress_mpa = out->couple_nmm / in->wire.bending_mm3;
    out->yield_ratio = out->stress_mpa / in->wire.yield_mpa;
    out->permanent_set = out->yield_ratio > 1.0;
    return status;
}

bool hf_cantilever_place(const hf_cantilever *cantilever, hf_vec3 mouth_mm, hf_vec3 axis, hf_vec3 end_mm,
    hf_vec3 activation, hf_cantilever_pull *out) {
    hf_vec3 along = hf_unit(axis), way = hf_unit(activation);
    hf_vec3 across = hf_perpendicular(way, along);
    /* A direction within 1e-9 rad of the axis says nothing about the way across it. */
    if (!hf_is_finite(along) || !(hf_norm(along) > 0.0) || !(hf_norm(across) > 1e-9)) return false;
    hf_wrench on_end = {hf_scale(hf_unit(across), -cantilever->force_n), {0.0, 0.0, 0.0}};
    hf_wrench at_mouth = hf_wrench_move(on_end, end_mm, mouth_mm);
    *out = (hf_cantilever_pull){.on_end = on_end,
        .on_tube = {hf_scale(at_mouth.force, -1.0), hf_scale(at_mouth.moment, -1.0)},
        .lever_mm = fabs(hf_dot(hf_sub(end_mm, mouth_mm), along))};
    return true;
}
