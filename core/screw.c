#include "screw.h"

#include <math.h>

#include "evidence.h"

typedef struct power_law {
    double scale, by_core, by_cortex, by_cancellous, by_stiffness;
} power_law;

enum {
#define HF_SCREW_LAW(NAME, ...) NAME,
#include "evidence/screw_laws.def"
#undef HF_SCREW_LAW
    LAW_COUNT
};

static const power_law laws[LAW_COUNT] = {
#define HF_SCREW_LAW(                                                                                        \
    NAME, key, scale, low, high, unit, by_core, by_cortex, by_cancellous, by_stiffness, what)                \
    {scale, by_core, by_cortex, by_cancellous, by_stiffness},
#include "evidence/screw_laws.def"
#undef HF_SCREW_LAW
};

/* The dimensionless numbers the laws depend on, as logarithms: one exp per value instead of four pow. */
typedef struct law_point {
    double core, cortex, cancellous, stiffness;
} law_point;

static double cortex_by_core(const hf_screw *s) {
    const hf_evidence *held = &hf_evidence_table[HF_EV_SCREW_CORTEX_BY_CORE];
    return fmin(fmax(s->cortex_mm / s->core_mm, held->low), held->high);
}

static law_point law_point_of(const hf_screw *s) {
    return (law_point){.core = log(s->core_mm / HF_EV(SCREW_CORE)),
        .cortex = log(cortex_by_core(s)),
        .cancellous = log(s->cancellous_modulus_mpa / s->cortex_modulus_mpa / HF_EV(SCREW_BONE_RATIO)),
        .stiffness = log(s->cortex_modulus_mpa / s->modulus_mpa / HF_EV(SCREW_STIFFNESS_RATIO))};
}

static double law(int which, const law_point *at) {
    const power_law *l = &laws[which];
    return l->scale * exp(l->by_core * at->core + l->by_cortex * at->cortex +
                          l->by_cancellous * at->cancellous + l->by_stiffness * at->stiffness);
}

/* A bar held along its length h by springs k per length, with a spring under its lower end: what its upper
 * end feels. From u'' = k u/(EA). */
static double column(double k, double ea, double h, double below) {
    if (!(h > 0.0)) return below;
    double root = sqrt(k * ea); /* EA times the decay rate */
    double t = tanh(h * sqrt(k / ea));
    return root * (below + root * t) / (root + below * t);
}

/* Axial stiffness at the bone surface: load transfer along cortex and cancellous bone, a rigid punch at the
 * tip. */
static double axial_stiffness(const hf_screw *s) {
    double nu = HF_EV(SCREW_BONE_POISSON);
    double g_cortex = s->cortex_modulus_mpa / (2.0 * (1.0 + nu));
    double g_cancellous = s->cancellous_modulus_mpa / (2.0 * (1.0 + nu));
    double d = s->core_mm;
    double ea = s->modulus_mpa * M_PI * d * d / 4.0;
    double in_cortex = fmin(s->cortex_mm, s->length_mm);
    double k_cortex = HF_EV(SCREW_AXIAL_CORTEX) * g_cortex *
                      pow(s->cortex_mm / d, HF_EV(SCREW_AXIAL_CORTEX_BY_CORTEX)) *
                      pow(d / HF_EV(SCREW_CORE), HF_EV(SCREW_AXIAL_CORTEX_BY_CORE));
    double k_cancellous = HF_EV(SCREW_AXIAL_CANCELLOUS) * g_cancellous;
    double tip = 4.0 / (1.0 - nu) * g_cancellous * d / 2.0;
    return column(k_cortex, ea, in_cortex, column(k_cancellous, ea, s->length_mm - in_cortex, tip));
}

hf_screw_compliance hf_screw_compliance_of(const hf_screw *screw) {
    law_point at = law_point_of(screw);
    double d = screw->core_mm, a = screw->neck_mm, e = screw->modulus_mpa, nu = screw->poisson;
    double bone = screw->interface_factor / (screw->cortex_modulus_mpa * d);
    double s11 = bone * law(SHIFT_BY_FORCE, &at);
    double s12 = bone / d * law(SHIFT_BY_MOMENT, &at);
    double s22 = bone / (d * d) * law(TURN_BY_MOMENT, &at);
    double s44 = bone / (d * d) * law(TURN_BY_TORQUE, &at);
    /* The neck as a Timoshenko beam on that surface. */
    double area = M_PI * d * d / 4.0;
    double ei = e * M_PI * d * d * d * d / 64.0;
    double g = e / (2.0 * (1.0 + nu));
    double shear = 6.0 * (1.0 + nu) / (7.0 + 6.0 * nu) * g * area;
    return (hf_screw_compliance){
        .u_f = a * a * a / (3.0 * ei) + a / shear + s11 + 2.0 * a * s12 + a * a * s22,
        .u_m = a * a / (2.0 * ei) + s12 + a * s22,
        .th_m = a / ei + s22,
        .w_n = a / (e * area) + screw->interface_factor / axial_stiffness(screw),
        .phi_t = a * (1.0 + nu) / ei + s44};
}

hf_mat6 hf_screw_stiffness(const hf_screw_compliance *c) {
    double det = c->u_f * c->th_m - c->u_m * c->u_m;
    double shift = c->th_m / det, turn = c->u_f / det, cross = c->u_m / det;
    hf_mat6 k = {0};
    k.m[0][0] = k.m[1][1] = shift;
    k.m[3][3] = k.m[4][4] = turn;
    /* A force along +x tips about +y, one along +y about -x. */
    k.m[0][4] = k.m[4][0] = -cross;
    k.m[1][3] = k.m[3][1] = cross;
    k.m[2][2] = 1.0 / c->w_n;
    k.m[5][5] = 1.0 / c->phi_t;
    return k;
}

hf_axes hf_screw_axes(hf_vec3 axis) {
    double x = fabs(axis.x), y = fabs(axis.y), z = fabs(axis.z);
    hf_vec3 least = x <= y && x <= z ? hf_vec3_of(1, 0, 0)
                    : y <= z         ? hf_vec3_of(0, 1, 0)
                                     : hf_vec3_of(0, 0, 1);
    hf_axes axes = {.z = axis};
    axes.x = hf_unit(hf_perpendicular(least, axis));
    axes.y = hf_cross(axes.z, axes.x);
    return axes;
}

const char *hf_screw_outside_range(const hf_screw *screw) {
    const struct {
        hf_ev range;
        double value;
        const char *words;
    } checks[] = {
        {HF_EV_SCREW_CORE, screw->core_mm, "core diameter"},
        {HF_EV_SCREW_CORTEX, screw->cortex_mm, "cortex thickness"},
        {HF_EV_SCREW_NECK, screw->neck_mm, "free length"},
        {HF_EV_SCREW_LENGTH, screw->length_mm, "length in bone"},
        {HF_EV_SCREW_CORTEX_MODULUS, screw->cortex_modulus_mpa, "cortex modulus"},
        {HF_EV_SCREW_CANCELLOUS_MODULUS, screw->cancellous_modulus_mpa, "cancellous modulus"},
        {HF_EV_SCREW_BONE_RATIO, screw->cancellous_modulus_mpa / screw->cortex_modulus_mpa,
            "ratio of the bone moduli"},
        {HF_EV_SCREW_STIFFNESS_RATIO, screw->cortex_modulus_mpa / screw->modulus_mpa, "screw modulus"},
    };
    const double slack = 1e-9; /* a core told as 0.8 x 1.4 falls short of 1.12 in binary */
    for (size_t i = 0; i < sizeof checks / sizeof *checks; i++) {
        const hf_evidence *range = &hf_evidence_table[checks[i].range];
        bool inside =
            checks[i].value >= range->low * (1.0 - slack) && checks[i].value <= range->high * (1.0 + slack);
        if (!inside) return checks[i].words;
    }
    return NULL;
}

hf_vec3 hf_screw_moment_at_bone(const hf_screw *screw, hf_wrench head_local) {
    return hf_vec3_of(head_local.moment.x - screw->neck_mm * head_local.force.y,
        head_local.moment.y + screw->neck_mm * head_local.force.x, head_local.moment.z);
}

hf_cortex hf_screw_cortex(const hf_screw *screw, hf_wrench head_local) {
    law_point at = law_point_of(screw);
    hf_vec3 f = head_local.force, m = hf_screw_moment_at_bone(screw, head_local);
    static const int measures[3][3] = {{RADIAL_BY_FORCE, RADIAL_BY_MOMENT, RADIAL_BY_PULL},
        {MISES_BY_FORCE, MISES_BY_MOMENT, MISES_BY_PULL},
        {STRAIN_BY_FORCE, STRAIN_BY_MOMENT, STRAIN_BY_PULL}};
    double value[3];
    for (int i = 0; i < 3; i++) {
        double by_force = law(measures[i][0], &at), by_moment = law(measures[i][1], &at);
        value[i] = hypot(by_force * f.x + by_moment * m.y, by_force * f.y - by_moment * m.x) +
                   law(measures[i][2], &at) * fabs(f.z);
    }
    return (hf_cortex){
        .radial_mpa = value[0], .von_mises_mpa = value[1], .strain = value[2] / screw->cortex_modulus_mpa};
}

static hf_vec3 in_axes(const hf_axes *axes, hf_vec3 v) {
    return hf_vec3_of(hf_dot(v, axes->x), hf_dot(v, axes->y), hf_dot(v, axes->z));
}

hf_screw_load hf_screw_load_of(const hf_screw *screw, bool inside, hf_vec3 axis, hf_wrench head) {
    hf_axes axes = hf_screw_axes(axis);
    hf_wrench local = {in_axes(&axes, head.force), in_axes(&axes, head.moment)};
    hf_vec3 at_bone = hf_screw_moment_at_bone(screw, local);
    hf_cortex cortex = inside ? hf_screw_cortex(screw, local) : (hf_cortex){NAN, NAN, NAN};
    return (hf_screw_load){.axial_n = local.force.z,
        .lateral_n = hypot(local.force.x, local.force.y),
        .bending_at_bone_nmm = hypot(at_bone.x, at_bone.y),
        .axis_moment_nmm = local.moment.z,
        .cortex = cortex,
        .cortex_peak_mpa = inside ? fmax(cortex.radial_mpa, cortex.von_mises_mpa) : NAN};
}

double hf_screw_thread_factor(double major_mm, double minor_mm, double pitch_mm) {
    return HF_EV(SCREW_THREAD_FLOOR) + HF_EV(SCREW_THREAD_DEPTH) * (major_mm - minor_mm) / 2.0 / pitch_mm;
}

double hf_screw_pull_out(const hf_screw *screw) {
    double in_cortex = fmin(screw->cortex_mm, screw->length_mm);
    double strength_by_length = HF_EV(SCREW_CORTEX_SHEAR) * in_cortex +
                                HF_EV(SCREW_CANCELLOUS_SHEAR) * (screw->length_mm - in_cortex);
    return strength_by_length * M_PI * screw->diameter_mm *
           hf_screw_thread_factor(screw->diameter_mm, screw->core_mm, screw->thread_pitch_mm);
}

double hf_screw_core_torsion(double core_mm, double shear_strength_mpa, bool plastic) {
    return M_PI * core_mm * core_mm * core_mm * shear_strength_mpa / (plastic ? 12.0 : 16.0);
}

double hf_screw_removal_torque(hf_jaw jaw) {
    return jaw == HF_MAXILLA ? HF_EV(SCREW_REMOVAL_MAXILLA) : HF_EV(SCREW_REMOVAL_MANDIBLE);
}
