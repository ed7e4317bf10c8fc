#include "uncertainty.h"

#include <math.h>

#include "evidence.h"
#include "sample.h"

/* Inputs of a draw by number: the person's, then eight a screw, then one an element. */
enum { PERSON_BONE, PERSON_LIGAMENT, FIRST_SCREW };
enum {
    CORTEX,
    TISSUE,
    CORTEX_MODULUS,
    CANCELLOUS_MODULUS,
    INTERFACE,
    ENTRY, /* two directions */
    AXIS = ENTRY + 2,
    PER_SCREW = AXIS + 2
};

typedef struct drawn_screw {
    const hf_plan_screw *at;
    hf_axes axes;
    bool seated, inside;
    double cortex_sd_mm, tissue_sd_mm, cortex_modulus_sd, cancellous_modulus_sd, log_interface;
    hf_screw screw; /* as drawn */
    hf_vec3 axis;
} drawn_screw;

/* What is told of a screw and of a segment, each a row of values, one a draw. */
enum { PEAK, STRAIN, AXIS_MOMENT, OF_SCREW };
enum { TRANSLATION, ROTATION, OF_SEGMENT };

typedef struct sampling {
    const hf_plan *plan;
    const hf_answer *told;
    hf_assembly *frame;
    const hf_frame_load *loads; /* as told */
    drawn_screw *screws;
    uint64_t seed, sample;
    size_t count;
    double *values;
} sampling;

static double normal(const sampling *s, size_t input) {
    return hf_draw_normal(s->seed, s->sample, input);
}

static double *row_of(const sampling *s, size_t segment_or_screw, int which, bool of_screw) {
    size_t row = of_screw ? segment_or_screw * OF_SCREW
                          : s->plan->in->screw_count * OF_SCREW + segment_or_screw * OF_SEGMENT;
    return s->values + (row + (size_t)which) * s->count;
}

/* ---- the inputs */

static double range_share(const char *key, double share) {
    const hf_evidence *row = hf_evidence_find(key); /* none: a clinic's own figure */
    return row ? share * (row->high - row->low) : 0.0;
}

static drawn_screw drawn_screw_of(const hf_plan *plan, const hf_assembly *assembly, size_t s) {
    const hf_plan_screw *at = &plan->screws[s];
    const hf_screw_in *in = at->in;
    const hf_site *site = at->has_site ? &at->site : hf_site_general;
    bool own_cortex = isnan(in->cortex_modulus_mpa), own_cancellous = isnan(in->cancellous_modulus_mpa);
    return (drawn_screw){
        .at = at,
        .axes = hf_screw_axes(at->axis),
        .seated = assembly->screw_spring[s] != SIZE_MAX,
        .inside = at->outside == NULL,
        .cortex_sd_mm =
            fmax(at->cortex_assumed ? range_share(site->cortex_source, 0.5) : 0.0, HF_EV(SPREAD_CORTEX)),
        .tissue_sd_mm =
            fmax(isnan(in->tissue_mm) ? range_share(site->tissue_source, 0.25) : 0.0, HF_EV(SPREAD_TISSUE)),
        .cortex_modulus_sd = own_cortex ? HF_EV(SPREAD_CORTEX_MODULUS) : 0.0,
        .cancellous_modulus_sd = own_cancellous ? HF_EV(SPREAD_CANCELLOUS_MODULUS) : 0.0,
        .log_interface = isnan(in->interface_factor)
                             ? log(HF_EV(SCREW_INTERFACE_FRESH) / HF_EV(SCREW_INTERFACE_BONDED))
                             : 0.0,
    };
}

static double within(double value, hf_ev range, double unit) {
    const hf_evidence *row = &hf_evidence_table[range];
    return fmin(fmax(value, row->low * unit), row->high * unit);
}

static void hold_within_range(hf_screw *screw) {
    screw->cortex_mm = within(screw->cortex_mm, HF_EV_SCREW_CORTEX, 1.0);
    screw->neck_mm = within(screw->neck_mm, HF_EV_SCREW_NECK, 1.0);
    screw->cortex_modulus_mpa = within(screw->cortex_modulus_mpa, HF_EV_SCREW_CORTEX_MODULUS, 1.0);
    screw->cortex_modulus_mpa =
        within(screw->cortex_modulus_mpa, HF_EV_SCREW_STIFFNESS_RATIO, screw->modulus_mpa);
    screw->cancellous_modulus_mpa =
        within(screw->cancellous_modulus_mpa, HF_EV_SCREW_CANCELLOUS_MODULUS, 1.0);
    screw->cancellous_modulus_mpa =
        within(screw->cancellous_modulus_mpa, HF_EV_SCREW_BONE_RATIO, screw->cortex_modulus_mpa);
}

/* Across the axis, by two normal steps. */
static hf_vec3 stepped(const sampling *s, hf_vec3 from, const hf_axes *axes, size_t input, double sd) {
    return hf_add_scaled(
        hf_add_scaled(from, axes->x, sd * normal(s, input)), axes->y, sd * normal(s, input + 1));
}

static void draw_screw(const sampling *s, size_t index, double person) {
    drawn_screw *d = &s->screws[index];
    hf_screw *screw = &d->screw;
    size_t input = FIRST_SCREW + PER_SCREW * index;
    *screw = d->at->screw;
    screw->cortex_mm = fmax(screw->cortex_mm + d->cortex_sd_mm * normal(s, input + CORTEX), 0.05);
    screw->neck_mm = fmax(screw->neck_mm + d->tissue_sd_mm * normal(s, input + TISSUE), 0.05);
    if (d->cortex_modulus_sd > 0.0)
        screw->cortex_modulus_mpa *= person * exp(d->cortex_modulus_sd * normal(s, input + CORTEX_MODULUS));
    if (d->cancellous_modulus_sd > 0.0)
        screw->cancellous_modulus_mpa *=
            person * exp(d->cancellous_modulus_sd * normal(s, input + CANCELLOUS_MODULUS));
    if (d->log_interface > 0.0)
        screw->interface_factor *=
            exp(d->log_interface * hf_draw_uniform(s->seed, s->sample, input + INTERFACE));
    if (d->inside) hold_within_range(screw);
    double lean = tan(HF_EV(SPREAD_AXIS) * (acos(-1.0) / 180.0));
    d->axis = hf_unit(stepped(s, d->at->axis, &d->axes, input + AXIS, lean));
    hf_vec3 entry = stepped(s, d->at->entry_mm, &d->axes, input + ENTRY, HF_EV(SPREAD_ENTRY));
    hf_assembly_put_screw(s->frame, index, screw, d->axis, hf_add_scaled(entry, d->axis, screw->neck_mm));
}

/* 5 and 95 % of an element's force lie at the ends of its range. */
static double draw_force(const sampling *s, size_t element) {
    static const double quantile_95 = 1.6448536269514722;
    const hf_range *range = &s->told->elements[element].range_n;
    double z = normal(s, FIRST_SCREW + PER_SCREW * s->plan->in->screw_count + element) / quantile_95;
    double share = HF_EV(FORCE_MEASURED_SPREAD);
    if (!isnan(range->low) && range->mid != 0.0)
        share = fabs((z < 0.0 ? range->low : range->high) / range->mid - 1.0);
    return fmax(1.0 + share * z, 0.0);
}

/* ---- one draw */

static void draw_loads(const sampling *s) {
    for (size_t l = 0; l < s->frame->frame.load_count; l++) {
        double factor = draw_force(s, s->frame->load_element[l]);
        hf_wrench load = s->loads[l].load;
        s->frame->loads[l].load = (hf_wrench){hf_scale(load.force, factor), hf_scale(load.moment, factor)};
    }
}

static void draw_segments(const sampling *s) {
    double softer = exp(-HF_EV(SPREAD_PERSON_LIGAMENT) * normal(s, PERSON_LIGAMENT));
    for (size_t u = 0; u < s->plan->unit_count; u++) {
        hf_mat6 *k = &s->frame->springs[u].k;
        for (int i = 0; i < 6; i++)
            for (int j = 0; j < 6; j++)
                k->m[i][j] = s->plan->units[u].k->m[i][j] / softer;
    }
}

static void note(const sampling *s) {
    for (size_t i = 0; i < s->plan->in->screw_count; i++) {
        const drawn_screw *d = &s->screws[i];
        if (!d->seated) continue;
        hf_screw_load load = hf_screw_load_of(&d->screw, d->inside, d->axis, hf_assembly_head(s->frame, i));
        row_of(s, i, PEAK, true)[s->sample] = load.cortex_peak_mpa;
        row_of(s, i, STRAIN, true)[s->sample] = load.cortex.strain * 1e6;
        row_of(s, i, AXIS_MOMENT, true)[s->sample] = load.axis_moment_nmm;
    }
    for (size_t g = 0; g < s->plan->segment_count; g++) {
        const hf_segment_out *told = &s->told->segments[g];
        hf_twist t = hf_twist_move(hf_segment_twist(s->plan, s->frame, g), s->plan->segments[g].at_mm,
            told->centre_of_resistance_mm);
        row_of(s, g, TRANSLATION, false)[s->sample] = 1e3 * hf_dot(t.shift, hf_unit(told->translation_um));
        row_of(s, g, ROTATION, false)[s->sample] =
            1e3 * 180.0 / acos(-1.0) * hf_dot(t.turn, hf_unit(told->rotation_mdeg));
    }
}

static bool draw(const sampling *s) {
    double person = exp(HF_EV(SPREAD_PERSON_BONE) * normal(s, PERSON_BONE));
    for (size_t i = 0; i < s->plan->in->screw_count; i++)
        if (s->screws[i].seated) draw_screw(s, i, person);
    draw_segments(s);
    draw_loads(s);
    if (!hf_assembly_solve(s->frame)) return false;
    note(s);
    return true;
}

/* ---- what they come to */

static const hf_range no_range = {NAN, NAN, NAN};

static hf_range range_of(const sampling *s, size_t index, int which, bool of_screw) {
    double *values = row_of(s, index, which, of_screw);
    return isnan(values[0]) ? no_range : hf_sample_range(values, s->count);
}

static void tell_ranges(const sampling *s, hf_answer *out) {
    out->screw_spreads = HF_NEW_ARRAY(s->plan->arena, hf_screw_spread, out->screw_count);
    for (size_t i = 0; i < out->screw_count; i++) {
        if (!s->screws[i].seated) continue;
        out->screw_spreads[out->screw_spread_count++] = (hf_screw_spread){.name = out->screws[i].name,
            .cortex_peak_mpa = range_of(s, i, PEAK, true),
            .strain_microstrain = range_of(s, i, STRAIN, true),
            .axis_moment_nmm = range_of(s, i, AXIS_MOMENT, true)};
    }
    out->segment_spreads = HF_NEW_ARRAY(s->plan->arena, hf_segment_spread, out->segment_count);
    for (size_t g = 0; g < out->segment_count; g++) {
        const hf_segment_out *told = &out->segments[g];
        bool moves = hf_norm(told->translation_um) > 0.0, turns = hf_norm(told->rotation_mdeg) > 0.0;
        out->segment_spreads[out->segment_spread_count++] = (hf_segment_spread){.name = told->name,
            .translation_um = moves ? range_of(s, g, TRANSLATION, false) : no_range,
            .rotation_mdeg = turns ? range_of(s, g, ROTATION, false) : no_range};
    }
}

static void cite(hf_report *report) {
    static const hf_ev used[] = {HF_EV_SPREAD_CORTEX, HF_EV_SPREAD_TISSUE, HF_EV_SPREAD_PERSON_BONE,
        HF_EV_SPREAD_CORTEX_MODULUS, HF_EV_SPREAD_CANCELLOUS_MODULUS, HF_EV_SPREAD_PERSON_LIGAMENT,
        HF_EV_SPREAD_ENTRY, HF_EV_SPREAD_AXIS, HF_EV_SCREW_INTERFACE_FRESH};
    for (size_t i = 0; i < sizeof used / sizeof *used; i++)
        hf_report_cite(report, hf_evidence_table[used[i]].key);
}

void hf_uncertainty_tell(const hf_plan *plan, const hf_assembly *assembly, hf_answer *out) {
    int seed = plan->in->uncertainty.seed;
    sampling s = {.plan = plan,
        .told = out,
        .frame = hf_assembly_copy(assembly, plan->arena),
        .loads = assembly->loads,
        .screws = HF_NEW_ARRAY(plan->arena, drawn_screw, out->screw_count),
        .seed = seed == HF_ABSENT ? 1 : (uint64_t)seed,
        .count = (size_t)plan->in->uncertainty.samples};
    size_t rows = out->screw_count * OF_SCREW + out->segment_count * OF_SEGMENT;
    s.values = hf_arena_array(plan->arena, rows * s.count, sizeof *s.values);
    for (size_t i = 0; i < out->screw_count; i++)
        s.screws[i] = drawn_screw_of(plan, assembly, i);
    for (; s.sample < s.count; s.sample++)
        if (!draw(&s)) return;
    out->samples = plan->in->uncertainty.samples;
    out->seed = (int)s.seed;
    out->has_uncertainty = true;
    tell_ranges(&s, out);
    cite(plan->report);
}
