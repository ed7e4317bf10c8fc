/* Teeth joined by a wire, through the whole evaluation: against beams of the handbook, statics, and the
 * limits of a very stiff and a very soft wire. */
#include <criterion/criterion.h>
#include <string.h>

#include "../../../core/evaluate.h"

static hf_arena arena;
static void open_arena(void) {
    hf_arena_init(&arena, 1 << 16, 0);
}
static void close_arena(void) {
    hf_arena_fini(&arena);
}
TestSuite(plan_wires, .init = open_arena, .fini = close_arena);

#define ELEMENTS 2
typedef struct wired {
    hf_tooth_in teeth[2];
    hf_segment_in segment;
    hf_element_in elements[ELEMENTS];
    hf_case in;
} wired;

static const int arch[] = {17, 16, 15, 13, 12, 11, 21, 22, 23, 25, 26, 27};
static const int front[] = {13, 12, 11, 21, 22, 23};
static const int shuffled[] = {21, 13, 11, 23, 22, 12};

/* Steel of 0.018 x 0.025 inch. */
static void join(wired *w, const int *teeth, size_t count) {
    memset(w, 0, sizeof *w);
    w->segment = hf_segment_default();
    w->segment.name = "group";
    w->segment.teeth = teeth;
    w->segment.tooth_count = count;
    w->segment.wired = true;
    w->segment.wire_section =
        (hf_section_in){.kind = HF_SECTION_RECTANGLE, .rectangle_mm = {0.635, 0.4572}, .round_mm = NAN};
    w->segment.wire_material = (hf_material_in){.modulus_mpa = 180000.0, .poisson = 0.3, .yield_mpa = NAN};
    w->in = hf_case_default();
    w->in.on = 20000;
    w->in.segments = &w->segment, w->in.segment_count = 1;
    w->in.elements = w->elements;
}

static hf_element_in *load(wired *w) {
    hf_element_in *e = &w->elements[w->in.element_count];
    *e = hf_element_default();
    e->name = w->in.element_count++ ? "second" : "first";
    e->kind = HF_ELEMENT_APPLIED;
    return e;
}

static void load_tooth(wired *w, int tooth, hf_vec3 force_n) {
    hf_element_in *e = load(w);
    e->to.kind = HF_END_TOOTH;
    e->to.tooth = tooth;
    e->to.at = HF_AT_BRACKET;
    e->applied_force_n = force_n;
}

static void load_point(wired *w, hf_vec3 at_mm, hf_vec3 force_n) {
    hf_element_in *e = load(w);
    e->to.kind = HF_END_SEGMENT;
    e->to.segment = "group";
    e->to.at_mm = hf_point_default();
    e->to.at_mm.kind = HF_POINT_XYZ;
    e->to.at_mm.xyz_mm = at_mm;
    e->applied_force_n = force_n;
}

static hf_answer evaluated(const wired *w) {
    hf_answer out;
    bool ok = hf_evaluate(&w->in, &arena, &out);
    for (size_t i = 0; i < out.problem_count; i++) {
        cr_log_error("%s: %s", out.problems[i].pointer, out.problems[i].detail);
    }
    cr_assert(ok);
    return out;
}

static void near_vec(hf_vec3 a, hf_vec3 b, double tolerance, const char *what) {
    cr_assert_lt(hf_norm(hf_sub(a, b)), tolerance, "%s: (%g %g %g) against (%g %g %g)", what, a.x, a.y, a.z,
        b.x, b.y, b.z);
}

static const hf_tooth_out *tooth_of(const hf_answer *out, int tooth) {
    const hf_segment_out *s = &out->segments[0];
    size_t t = 0;
    while (t < s->tooth_count && s->teeth_movement[t].tooth != tooth) {
        t++;
    }
    cr_assert_lt(t, s->tooth_count, "tooth %d is missing", tooth);
    return &s->teeth_movement[t];
}

static double finding(const hf_answer *out, const char *code) {
    for (size_t f = 0; f < out->finding_count; f++) {
        if (strcmp(out->findings[f].code, code) == 0) return out->findings[f].value;
    }
    return NAN;
}

/* Limit of stiffness: the bars no longer bend and every tooth follows one body. */
Test(plan_wires, very_stiff_wire_is_a_rigid_group) {
    wired w;
    join(&w, front, 6);
    w.segment.wire_material.modulus_mpa *= 1e6;
    load_tooth(&w, 12, hf_vec3_of(0.3, 1.0, 0.5));
    hf_answer loose = evaluated(&w);
    w.segment.wired = false;
    hf_answer rigid = evaluated(&w);
    for (size_t t = 0; t < 6; t++) {
        const hf_tooth_out *a = tooth_of(&loose, front[t]), *b = tooth_of(&rigid, front[t]);
        near_vec(a->translation_um, b->translation_um, 0.01 * hf_norm(b->translation_um), "translation");
        near_vec(a->rotation_mdeg, b->rotation_mdeg, 0.01 * hf_norm(b->rotation_mdeg), "rotation");
        near_vec(a->force_n, b->force_n, 0.01, "force");
    }
    cr_assert_lt(loose.segments[0].apart, 0.01);
    cr_assert(isnan(rigid.segments[0].apart));
    cr_assert(isnan(finding(&loose, "segment-not-rigid")));
}

/* Limit of softness: the loaded tooth is alone with its load. */
Test(plan_wires, very_soft_wire_joins_nothing) {
    wired w;
    join(&w, front, 6);
    w.segment.wire_material.modulus_mpa *= 1e-7;
    hf_vec3 force = {0.3, 1.0, 0.5};
    load_tooth(&w, 11, force);
    hf_answer out = evaluated(&w);
    near_vec(tooth_of(&out, 11)->force_n, force, 1e-3, "the loaded tooth");
    near_vec(tooth_of(&out, 21)->force_n, hf_vec3_of(0, 0, 0), 1e-3, "its neighbour");
    cr_assert_gt(finding(&out, "segment-not-rigid"), 0.5);
}

/* Statics: the ligaments together carry the loads, wherever they are hung. */
Test(plan_wires, teeth_together_carry_the_load) {
    wired w;
    join(&w, arch, 12);
    hf_vec3 at = {-8.0, 6.0, 9.0}, first = {0.1, 1.4, 0.5}, second = {0.7, -0.2, -0.3};
    load_point(&w, at, first);
    load_tooth(&w, 26, second);
    hf_answer out = evaluated(&w);
    hf_vec3 force = {0, 0, 0}, moment = {0, 0, 0};
    for (size_t t = 0; t < 12; t++) {
        const hf_tooth_out *tooth = tooth_of(&out, arch[t]);
        force = hf_add(force, tooth->force_n);
        moment = hf_add(
            moment, hf_add(tooth->moment_nmm, hf_cross(tooth->centre_of_resistance_mm, tooth->force_n)));
    }
    near_vec(force, hf_add(first, second), 1e-9, "force");
    hf_vec3 about_origin = hf_add(hf_cross(at, first), hf_cross(out.elements[1].to_mm, second));
    near_vec(moment, about_origin, 1e-7, "moment about the origin");
    near_vec(out.segments[0].force_n, force, 1e-9, "the group's force");
    cr_assert_lt(out.force_residual_n, 1e-9);
    cr_assert_lt(out.moment_residual_nmm, 1e-8);
}

/* Two upright premolars of one shape behind each other: the wire runs 7 mm along y, its thickness stands up.
 */
static void two_premolars(wired *w, double front_modulus, double back_modulus) {
    static const int premolars[] = {14, 15};
    static const hf_root one_root = {
        .length_mm = 13, .mesiodistal_mm = 5, .buccolingual_mm = 8, .exponent = 0.5};
    join(w, premolars, 2);
    for (int i = 0; i < 2; i++) {
        w->teeth[i] = hf_tooth_default();
        w->teeth[i].tooth = premolars[i];
        w->teeth[i].crest_mm = hf_vec3_of(-20.0, 20.0 + 7.0 * i, 7.0);
        w->teeth[i].root_axis = hf_vec3_of(0, 0, 1);
        w->teeth[i].mesial_axis = hf_vec3_of(0, -1, 0);
        w->teeth[i].ligament = (hf_ligament){.thickness_mm = 0.2,
            .normal_modulus_mpa = i ? back_modulus : front_modulus,
            .shear_modulus_mpa = i ? back_modulus : front_modulus};
        w->teeth[i].roots = &one_root;
        w->teeth[i].root_count = 1;
    }
    w->in.teeth = w->teeth, w->in.tooth_count = 2;
}

static hf_vec3 bracket_shift_mm(const hf_answer *out, int tooth) {
    const hf_tooth_out *t = tooth_of(out, tooth);
    hf_vec3 turn = hf_scale(t->rotation_mdeg, M_PI / 180e3);
    hf_vec3 arm = hf_sub(out->elements[0].to_mm, t->centre_of_resistance_mm);
    return hf_add(hf_scale(t->translation_um, 1e-3), hf_cross(turn, arm));
}

/* Handbook: a cantilever gives way by F L^3/(3 E I), I = width thickness^3/12 along the thickness and
 * thickness width^3/12 along the width. The front tooth stands fast, the back one hangs on the wire alone. */
Test(plan_wires, wire_bends_flat_upwards_and_on_edge_sideways) {
    const double ei_flat = 180000.0 * 0.635 * pow(0.4572, 3) / 12.0,
                 ei_edge = 180000.0 * 0.4572 * pow(0.635, 3) / 12.0;
    wired w;
    two_premolars(&w, 1e6, 1e-9);
    load_tooth(&w, 15, hf_vec3_of(0, 0, 0.5));
    hf_answer out = evaluated(&w);
    cr_assert_float_eq(bracket_shift_mm(&out, 15).z / (0.5 * 343.0 / (3.0 * ei_flat)), 1.0, 0.02);
    two_premolars(&w, 1e6, 1e-9);
    load_tooth(&w, 15, hf_vec3_of(0.5, 0, 0));
    out = evaluated(&w);
    cr_assert_float_eq(bracket_shift_mm(&out, 15).x / (0.5 * 343.0 / (3.0 * ei_edge)), 1.0, 0.02);
}

/* Handbook: a force at a quarter of a span clamped at both ends goes to them as 27/32 and 5/32. */
Test(plan_wires, force_hung_on_the_wire_goes_to_both_neighbours) {
    wired w;
    two_premolars(&w, 1e6, 1e6);
    load_tooth(&w, 14, hf_vec3_of(0, 0, 1));
    load_tooth(&w, 15, hf_vec3_of(0, 0, 1));
    hf_answer both = evaluated(&w);
    hf_vec3 bracket = both.elements[0].to_mm, other = both.elements[1].to_mm;
    two_premolars(&w, 1e6, 1e6);
    load_point(&w, hf_add(bracket, hf_vec3_of(0, 1.75, 0)), hf_vec3_of(0, 0, 1));
    hf_answer out = evaluated(&w);
    cr_assert_float_eq(tooth_of(&out, 14)->force_n.z, 27.0 / 32.0, 0.01);
    cr_assert_float_eq(tooth_of(&out, 15)->force_n.z, 5.0 / 32.0, 0.01);
    cr_assert_float_eq(out.segments[0].force_n.z, 1.0, 1e-9);
    w.elements[0].to.at_mm.xyz_mm = hf_scale(hf_add(bracket, other), 0.5);
    out = evaluated(&w);
    cr_assert_float_eq(tooth_of(&out, 14)->force_n.z, 0.5, 1e-4, "in the middle: halves, by symmetry");
}

/* Close to an attachment it hangs on the tooth: the same as if told so. */
Test(plan_wires, force_near_an_attachment_hangs_on_its_tooth) {
    wired w;
    two_premolars(&w, 0.3, 0.3);
    load_tooth(&w, 14, hf_vec3_of(0.2, 0, 1));
    hf_answer by_tooth = evaluated(&w);
    two_premolars(&w, 0.3, 0.3);
    load_point(&w, by_tooth.elements[0].to_mm, hf_vec3_of(0.2, 0, 1));
    hf_answer by_point = evaluated(&w);
    near_vec(tooth_of(&by_point, 15)->force_n, tooth_of(&by_tooth, 15)->force_n, 1e-12, "force on the other");
    cr_assert_gt(hf_norm(tooth_of(&by_point, 15)->force_n), 0.01);
}

/* Tominaga et al. 2009, Angle Orthod 79:1102: with the arm in front of the canine the incisor tips lingually
 * at 0 mm, goes bodily at a middle height and its root goes lingually above. Order only: there the wire
 * slides. */
Test(plan_wires, higher_arms_turn_tipping_into_root_movement) {
    double before = INFINITY, lowest = 0.0, highest = 0.0;
    for (int height = 0; height <= 15; height += 3) {
        wired w;
        join(&w, arch, 12);
        for (int side = -1; side <= 1; side += 2) {
            load_point(&w, hf_vec3_of(10.3 * side, 4.5, height), hf_vec3_of(0.0, 1.5, 0.0));
        }
        hf_answer out = evaluated(&w);
        double palatal_crown = tooth_of(&out, 11)->rotation_mdeg.x;
        cr_assert_lt(palatal_crown, before, "%d mm", height);
        before = palatal_crown;
        if (height == 0) lowest = palatal_crown;
        highest = palatal_crown;
    }
    cr_assert_gt(lowest, 0.0);
    cr_assert_lt(highest, 0.0);
}

Test(plan_wires, order_of_naming_does_not_matter) {
    wired w;
    join(&w, front, 6);
    load_tooth(&w, 11, hf_vec3_of(0.2, 1.0, 0.1));
    hf_answer straight = evaluated(&w);
    join(&w, shuffled, 6);
    load_tooth(&w, 11, hf_vec3_of(0.2, 1.0, 0.1));
    hf_answer mixed = evaluated(&w);
    for (size_t t = 0; t < 6; t++) {
        near_vec(tooth_of(&mixed, front[t])->translation_um, tooth_of(&straight, front[t])->translation_um,
            1e-9, "translation");
    }
}

Test(plan_wires, loads_that_cancel_move_no_group) {
    wired w;
    join(&w, front, 6);
    load_tooth(&w, 13, hf_vec3_of(0.7, 0.4, 0.1));
    load_point(&w, hf_vec3_of(0, 0, 0), hf_vec3_of(-0.7, -0.4, -0.1));
    w.elements[1].to = w.elements[0].to;
    w.elements[1].to.offset_mm = hf_vec3_of(0, 0, 0);
    hf_answer out = evaluated(&w);
    cr_assert_str_eq(out.segments[0].movement, "no load");
}

Test(plan_wires, refuses_a_wire_that_cannot_be) {
    static const int both_jaws[] = {11, 41};
    wired w;
    hf_answer out;
    join(&w, both_jaws, 2);
    cr_assert_not(hf_evaluate(&w.in, &arena, &out));
    cr_assert_str_eq(out.problems[0].pointer, "/segments/0/teeth");
    two_premolars(&w, 1.0, 1.0);
    w.teeth[1].crest_mm = w.teeth[0].crest_mm;
    cr_assert_not(hf_evaluate(&w.in, &arena, &out));
    cr_assert_str_eq(out.problems[0].pointer, "/segments/0/teeth");
    two_premolars(&w, 1.0, 1.0);
    w.segment.wire_material =
        (hf_material_in){.name = "cheese", .modulus_mpa = NAN, .poisson = NAN, .yield_mpa = NAN};
    cr_assert_not(hf_evaluate(&w.in, &arena, &out));
    cr_assert_str_eq(out.problems[0].pointer, "/segments/0/joined/wire/material");
}

/* Draws of the ligament alone: every tooth's stiffness by one factor, so the median of the group's movement
 * is the one told, as for a rigid group (Weighted mean of the teeth = load over summed stiffness; derived).
 */
Test(plan_wires, draws_keep_to_the_movement_told) {
    wired w;
    join(&w, front, 6);
    load_tooth(&w, 11, hf_vec3_of(0.2, 1.0, 0.1));
    w.in.uncertainty.samples = 2000;
    w.in.uncertainty.seed = 1;
    hf_answer out = evaluated(&w);
    cr_assert_eq(out.segment_spread_count, 1);
    hf_range drawn = out.segment_spreads[0].translation_um;
    cr_assert_float_eq(drawn.mid / hf_norm(out.segments[0].translation_um), 1.0, 0.05);
    cr_assert_lt(drawn.low, 0.95 * drawn.mid);
    cr_assert_gt(drawn.high, 1.05 * drawn.mid);
}

/* A wire runs along the teeth themselves: no slot tells where its thickness is, and nothing breaks. */
Test(plan_wires, wire_along_the_teeth_is_computed) {
    wired w;
    two_premolars(&w, 0.3, 0.3);
    w.teeth[1].crest_mm = hf_add(w.teeth[0].crest_mm, hf_vec3_of(0, 0, 5));
    load_tooth(&w, 15, hf_vec3_of(0, 1, 0));
    hf_answer out = evaluated(&w);
    near_vec(
        hf_add(tooth_of(&out, 14)->force_n, tooth_of(&out, 15)->force_n), hf_vec3_of(0, 1, 0), 1e-9, "force");
}
