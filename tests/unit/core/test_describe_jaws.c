/* What elastics give a jaw through its plates, against statics: whatever plate and screws do, the jaw gets
 * the elastic's force along the elastic's line. */
#include <criterion/criterion.h>
#include <string.h>

#include "../../../core/evaluate.h"
#include "../../../core/evidence.h"

static hf_arena arena;
static void open_arena(void) {
    hf_arena_init(&arena, 1 << 16, 0);
}
static void close_arena(void) {
    hf_arena_fini(&arena);
}
TestSuite(describe_jaws, .init = open_arena, .fini = close_arena);

typedef struct setup {
    hf_screw_in screws[2];
    hf_node_in nodes[3];
    hf_bar_in bars[2];
    hf_seat_in seats[2];
    hf_fitting_in hook;
    hf_plate_in plate;
    hf_element_in elastic;
    hf_case in;
} setup;

static hf_point xyz(hf_vec3 at_mm) {
    hf_point point = hf_point_default();
    point.kind = HF_POINT_XYZ;
    point.xyz_mm = at_mm;
    return point;
}

/* A plate on the right of the upper jaw; an elastic of 4 N from its hook to a point outside. */
static void build(setup *s, hf_vec3 hook_mm, hf_vec3 outside_mm) {
    static const char *const names[3] = {"front", "back", "hook"};
    const hf_vec3 places[3] = {{-22, 28, 18}, {-23, 36, 18}, hook_mm};
    memset(s, 0, sizeof *s);
    s->plate = hf_plate_default();
    for (int i = 0; i < 3; i++) {
        s->nodes[i] = hf_node_default();
        s->nodes[i].name = names[i];
        s->nodes[i].at = xyz(places[i]);
    }
    for (int i = 0; i < 2; i++) {
        s->screws[i] = hf_screw_default();
        s->screws[i].name = names[i];
        s->screws[i].site = "infrazygomatic";
        s->screws[i].entry = xyz(hf_add(places[i], hf_vec3_of(2, 0, 0)));
        s->screws[i].axis = hf_vec3_of(-1, 0, 0);
        s->screws[i].diameter_mm = 2.0;
        s->screws[i].length_mm = 8.0;
        s->screws[i].tissue_mm = 1.0;
        s->screws[i].stand_off_mm = 1.0;
        s->bars[i] = hf_bar_default();
        s->bars[i].from = names[i];
        s->bars[i].to = names[2];
        s->bars[i].section = (hf_section_in){.kind = HF_SECTION_ROUND, .round_mm = 1.5};
        s->seats[i] = (hf_seat_in){names[i], names[i]};
    }
    s->hook = hf_fitting_default();
    s->hook.node = names[2];
    s->plate.name = "plate";
    s->plate.nodes = s->nodes, s->plate.node_count = 3;
    s->plate.bars = s->bars, s->plate.bar_count = 2;
    s->plate.seats = s->seats, s->plate.seat_count = 2;
    s->plate.fittings = &s->hook, s->plate.fitting_count = 1;
    s->elastic = hf_element_default();
    s->elastic.name = "elastic";
    s->elastic.kind = HF_ELEMENT_EXTRAORAL_ELASTIC;
    s->elastic.from.kind = HF_END_FITTING;
    s->elastic.from.fitting = names[2];
    s->elastic.to.kind = HF_END_FIXED;
    s->elastic.to.fixed_mm = xyz(outside_mm);
    s->elastic.force_n = 4.0;
    s->elastic.hours_per_day = 12.0;
    s->in = hf_case_default();
    s->in.on = 20000;
    s->in.screws = s->screws, s->in.screw_count = 2;
    s->in.plates = &s->plate, s->in.plate_count = 1;
    s->in.elements = &s->elastic, s->in.element_count = 1;
}

static hf_answer evaluated(const setup *s) {
    hf_answer out;
    bool ok = hf_evaluate(&s->in, &arena, &out);
    for (size_t i = 0; i < out.problem_count; i++) {
        cr_log_error("%s: %s", out.problems[i].pointer, out.problems[i].detail);
    }
    cr_assert(ok);
    return out;
}

/* A protraction in the plane that the jaw's centre lies in, its line `above_mm` over the centre. */
static hf_jaw_out protraction(hf_vec3 centre, double above_mm, bool given) {
    static setup s;
    hf_vec3 hook = {centre.x, centre.y - 30.0, centre.z + above_mm};
    build(&s, hook, hf_add(hook, hf_vec3_of(0, -50, 0)));
    if (given) s.in.arches[HF_MAXILLA].centre_mm = centre;
    hf_answer out = evaluated(&s);
    cr_assert_eq(out.jaw_count, 1);
    cr_assert_eq(out.jaws[0].jaw, HF_MAXILLA);
    cr_assert_lt(hf_norm(hf_sub(out.jaws[0].about_mm, centre)), 1e-9);
    double force = out.elements[0].force_n;
    cr_assert_lt(fabs(out.jaws[0].force_n.y + force), 1e-6);
    cr_assert_lt(fabs(out.jaws[0].moment_nmm.x + -above_mm * force), 1e-5);
    cr_assert_lt(fabs(out.jaws[0].line_mm.z - (centre.z + above_mm)), 1e-5);
    cr_assert_lt(fabs(out.jaws[0].day_mean_n - 0.5 * force), 1e-6, "12 of 24 hours");
    cr_assert_eq(out.jaws[0].hours_per_day, 12.0);
    return out.jaws[0];
}

/* Tanne et al. 1995, Br J Orthod 22:227: the complex is carried forward without turning only by a line
 * through the height of the superior ridge of the pterygomaxillary fissure; lower lines turn its front up. */
Test(describe_jaws, midface_goes_straight_only_through_its_centre) {
    const hf_vec3 centre = {0.0, HF_EV(MIDFACE_DEPTH), HF_EV(MIDFACE_HEIGHT)};
    cr_assert_str_eq(protraction(centre, 0.0, false).rotation, "none");
    cr_assert_str_eq(protraction(centre, -12.0, false).rotation, "front up, back down");
    cr_assert_str_eq(protraction(centre, 12.0, false).rotation, "front down, back up");
}

/* Billiet et al. 2001, Eur J Orthod 23:263: on a skull the line without turn passed the key ridge. A centre
 * that is told replaces the published place. */
Test(describe_jaws, centre_told_replaces_the_published_one) {
    const hf_vec3 key_ridge = {0.0, 34.0, 24.0};
    cr_assert_str_eq(protraction(key_ridge, 0.0, true).rotation, "none");
    cr_assert_str_eq(protraction(key_ridge, -8.0, true).rotation, "front up, back down");
}

/* An elastic on one side: the front turns to the other side; r x F with r = (-25, 0, 0), F = (0, -4, 0) is
 * +100 N mm about z, front to the patient's left. */
Test(describe_jaws, one_sided_pull_turns_the_jaw) {
    setup s;
    const hf_vec3 centre = {0.0, 30.0, 18.0};
    build(&s, hf_vec3_of(-25, 24, 18), hf_vec3_of(-25, -40, 18));
    s.in.arches[HF_MAXILLA].centre_mm = centre;
    hf_answer out = evaluated(&s);
    cr_assert_float_eq(out.jaws[0].moment_nmm.z, 25.0 * out.elements[0].force_n, 1e-5);
    cr_assert_str_eq(out.jaws[0].rotation, "front to the left");
}

Test(describe_jaws, only_elastics_that_leave_the_jaw_count) {
    setup s;
    build(&s, hf_vec3_of(-25, 24, 18), hf_vec3_of(-25, -40, 18));
    s.elastic.kind = HF_ELEMENT_ELASTIC;
    s.elastic.to =
        (hf_end_in){.kind = HF_END_TOOTH, .tooth = 13, .at = HF_AT_BRACKET, .offset_mm = hf_vec3_absent()};
    s.elastic.hours_per_day = NAN;
    cr_assert_eq(evaluated(&s).jaw_count, 0);
    s.elastic.to.tooth = 43;
    hf_answer out = evaluated(&s);
    cr_assert_eq(out.jaw_count, 1);
    cr_assert(isnan(out.jaws[0].hours_per_day) && isnan(out.jaws[0].day_mean_n), "wear was not told");
    s.elastic.kind = HF_ELEMENT_TIE;
    cr_assert_eq(evaluated(&s).jaw_count, 0);
}
