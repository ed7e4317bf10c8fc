/* Plates, wires and teeth made into one frame: rigid bars against the kinematics of one body and statics, and
 * numbers at the end of what doubles hold. */
#include <criterion/criterion.h>
#include <string.h>

#include "../../../core/arch.h"
#include "../../../core/evaluate.h"
#include "../../../core/rate.h"
#include "../../../core/tooth.h"

static hf_arena arena;
static void open_arena(void) {
    hf_arena_init(&arena, 1 << 16, 0);
}
static void close_arena(void) {
    hf_arena_fini(&arena);
}
TestSuite(assemble, .init = open_arena, .fini = close_arena);

static hf_point xyz(double x, double y, double z) {
    hf_point point = hf_point_default();
    point.kind = HF_POINT_XYZ;
    point.xyz_mm = hf_vec3_of(x, y, z);
    return point;
}

/* A screw along z under a seat, two hooks on it in a row; three upper molars a side that the tests join as
 * they like; what pulls is added. */
enum { NODES = 3, TEETH = 3, MOST = 4, today = 20000 };
typedef struct setup {
    hf_tooth_in teeth[TEETH];
    hf_segment_in segments[2];
    hf_screw_in screw;
    hf_node_in nodes[NODES];
    hf_bar_in bars[NODES - 1];
    hf_seat_in seat;
    hf_fitting_in hooks[2];
    hf_plate_in plate;
    hf_element_in elements[MOST];
    hf_case in;
} setup;

static const int numbers[TEETH] = {16, 17, 26};

static void build(setup *s) {
    static const char *const names[NODES] = {"seat", "near", "far"};
    memset(s, 0, sizeof *s);
    s->screw = hf_screw_default();
    s->screw.name = "A";
    s->screw.entry = xyz(0, 0, 0);
    s->screw.axis = hf_vec3_of(0, 0, 1);
    s->screw.diameter_mm = 2.0, s->screw.length_mm = 8.0, s->screw.tissue_mm = 1.5,
    s->screw.stand_off_mm = 1.0;
    s->plate = hf_plate_default();
    for (int n = 0; n < NODES; n++) {
        s->nodes[n] = hf_node_default();
        s->nodes[n].name = names[n];
        s->nodes[n].at = xyz(-10.0 * n, 2.0 * n, 2.5);
    }
    for (int b = 0; b < NODES - 1; b++) {
        s->bars[b] = hf_bar_default();
        s->bars[b].from = names[b], s->bars[b].to = names[b + 1];
        s->bars[b].section = (hf_section_in){.kind = HF_SECTION_ROUND, .round_mm = 1.2};
        s->hooks[b] = hf_fitting_default();
        s->hooks[b].node = names[b + 1];
    }
    s->seat = (hf_seat_in){"seat", "A"};
    s->plate.name = "plate";
    s->plate.nodes = s->nodes, s->plate.node_count = NODES;
    s->plate.bars = s->bars, s->plate.bar_count = NODES - 1;
    s->plate.seats = &s->seat, s->plate.seat_count = 1;
    s->plate.fittings = s->hooks, s->plate.fitting_count = 2;
    for (int t = 0; t < TEETH; t++) {
        s->teeth[t] = hf_tooth_default();
        s->teeth[t].tooth = numbers[t];
    }
    for (int g = 0; g < 2; g++) {
        s->segments[g] = hf_segment_default();
        s->segments[g].name = g ? "left" : "right";
        s->segments[g].teeth = &numbers[2 * g], s->segments[g].tooth_count = g ? 1 : 2;
        s->segments[g].wire_section =
            (hf_section_in){.kind = HF_SECTION_RECTANGLE, .rectangle_mm = {0.635, 0.4572}, .round_mm = NAN};
        s->segments[g].wire_material =
            (hf_material_in){.modulus_mpa = 180000.0, .poisson = 0.3, .yield_mpa = NAN};
    }
    s->in = hf_case_default();
    s->in.on = today, s->in.horizon_days = 42;
    s->in.teeth = s->teeth, s->in.tooth_count = TEETH;
    s->in.segments = s->segments, s->in.segment_count = 2;
    s->in.screws = &s->screw, s->in.screw_count = 1;
    s->in.plates = &s->plate, s->in.plate_count = 1;
    s->in.elements = s->elements;
}

static hf_element_in *add(setup *s, const char *name, hf_element_kind kind) {
    hf_element_in *element = &s->elements[s->in.element_count++];
    *element = hf_element_default();
    element->name = name;
    element->kind = kind;
    return element;
}

static void rigid(setup *s, const char *name, const char *hook, int tooth) {
    hf_element_in *bar = add(s, name, HF_ELEMENT_RIGID_BAR);
    bar->from.kind = HF_END_FITTING, bar->from.fitting = hook;
    bar->to.kind = HF_END_TOOTH, bar->to.tooth = tooth;
}

static hf_element_in *load_hook(setup *s, hf_vec3 force_n) {
    hf_element_in *load = add(s, "load", HF_ELEMENT_APPLIED);
    load->to.kind = HF_END_FITTING, load->to.fitting = "far";
    load->applied_force_n = force_n;
    return load;
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

static void near_vec(hf_vec3 a, hf_vec3 b, double tolerance, const char *what) {
    cr_assert_lt(hf_norm(hf_sub(a, b)), tolerance, "%s: (%g %g %g) against (%g %g %g)", what, a.x, a.y, a.z,
        b.x, b.y, b.z);
}

/* Two hooks held rigidly to one tooth are parts of one body: they turn as it does, and stand apart by that
 * turn; the bar between them cannot be loaded. Statics: screw and ligaments together carry the load. */
Test(assemble, two_rigid_bars_to_one_tooth_make_one_body) {
    setup s;
    build(&s);
    s.segments[0].wired = true;
    rigid(&s, "one", "near", 16);
    rigid(&s, "other", "far", 16);
    hf_vec3 force = {0.3, 1.0, -0.5};
    load_hook(&s, force);
    hf_answer out = evaluated(&s);
    const hf_fitting_out *near = &out.plates[0].fittings[0], *far = &out.plates[0].fittings[1];
    near_vec(near->rotation_mrad, far->rotation_mrad, 1e-12, "one turn");
    hf_vec3 apart = hf_sub(s.nodes[2].at.xyz_mm, s.nodes[1].at.xyz_mm);
    near_vec(hf_sub(far->deflection_mm, near->deflection_mm),
        hf_cross(hf_scale(near->rotation_mrad, 1e-3), apart), 1e-12, "one body");
    near_vec(hf_scale(out.segments[0].teeth_movement[0].rotation_mdeg, M_PI / 180.0), near->rotation_mrad,
        1e-9, "the tooth's turn");
    cr_assert_str_eq(out.plates[0].load.peak_from, "seat");
    near_vec(hf_add(out.screws[0].load.head.force, out.segments[0].force_n), force, 1e-9, "statics");
}

/* Both teeth of a wire on one hook: the wire between them carries nothing and the group moves as one body. */
Test(assemble, a_wire_between_teeth_of_one_body_is_idle) {
    setup s;
    build(&s);
    s.segments[0].wired = true;
    rigid(&s, "one", "near", 16);
    rigid(&s, "other", "near", 17);
    load_hook(&s, hf_vec3_of(0.3, 1.0, -0.5));
    hf_answer wired = evaluated(&s);
    cr_assert_lt(wired.segments[0].apart, 1e-9);
    s.segments[0].wired = false;
    s.in.element_count = 0;
    rigid(&s, "one", "near", 16);
    load_hook(&s, hf_vec3_of(0.3, 1.0, -0.5));
    hf_answer whole = evaluated(&s);
    for (int t = 0; t < 2; t++)
        near_vec(wired.segments[0].teeth_movement[t].translation_um,
            whole.segments[0].teeth_movement[t].translation_um, 1e-6, "as a rigid group");
}

/* A hook bound to the wire between two teeth, a second group wired beside it: what the ligaments of the first
 * do not carry the screw does, and the second has no load. */
Test(assemble, a_rigid_bar_may_hold_a_wire_between_teeth) {
    static const int left[] = {26, 27};
    setup s;
    build(&s);
    s.segments[0].wired = s.segments[1].wired = true;
    s.segments[1].teeth = left, s.segments[1].tooth_count = 2;
    hf_vec3 at[2];
    for (int t = 0; t < 2; t++) {
        hf_element_in *probe = add(&s, t ? "b" : "a", HF_ELEMENT_APPLIED);
        probe->to.kind = HF_END_TOOTH, probe->to.tooth = numbers[t];
        probe->applied_force_n = hf_vec3_of(0, 0, 0.1);
    }
    hf_answer where = evaluated(&s);
    for (int t = 0; t < 2; t++)
        at[t] = where.elements[t].to_mm;
    s.in.element_count = 0;
    hf_element_in *bar = add(&s, "bar", HF_ELEMENT_RIGID_BAR);
    bar->from.kind = HF_END_FITTING, bar->from.fitting = "near";
    bar->to.kind = HF_END_SEGMENT, bar->to.segment = "right";
    hf_vec3 middle = hf_scale(hf_add(at[0], at[1]), 0.5);
    bar->to.at_mm = xyz(middle.x, middle.y, middle.z);
    hf_vec3 force = {0.3, 1.0, -0.5};
    load_hook(&s, force);
    hf_answer out = evaluated(&s);
    near_vec(hf_add(out.screws[0].load.head.force, out.segments[0].force_n), force, 1e-9, "statics");
    cr_assert_gt(hf_norm(out.segments[0].force_n), 0.01);
    cr_assert_eq(hf_norm(out.segments[1].force_n), 0.0);
    cr_assert_str_eq(out.segments[1].movement, "no load");
}

/* Teeth out of the bone, held by a plate alone: nothing presses on them, no movement of a group is told, and
 * the screw carries all. */
Test(assemble, teeth_without_ligament_hang_on_the_plate) {
    setup s;
    build(&s);
    s.segments[0].wired = true;
    s.in.segment_count = 1, s.in.tooth_count = 2;
    s.teeth[0].bone_loss_mm = s.teeth[1].bone_loss_mm = 40.0;
    s.in.uncertainty.samples = 100;
    rigid(&s, "bar", "near", 16);
    hf_vec3 force = {0.3, 1.0, -0.5};
    load_hook(&s, force);
    hf_answer out = evaluated(&s);
    near_vec(out.screws[0].load.head.force, force, 1e-9, "the screw");
    cr_assert_eq(out.segments[0].mean_kpa, 0.0);
    cr_assert(isnan(out.segments[0].translation_um.x));
    cr_assert(isnan(out.segment_spreads[0].translation_um.mid));
}

/* A couple alone is no force, so no rate of a movement is published for it. */
Test(assemble, a_couple_has_no_rate) {
    setup s;
    build(&s);
    s.in.plate_count = s.in.screw_count = 0;
    hf_element_in *load = add(&s, "couple", HF_ELEMENT_APPLIED);
    load->from.kind = HF_END_TOOTH, load->from.tooth = 26;
    load->applied_moment_nmm = hf_vec3_of(5, 3, 0);
    hf_answer out = evaluated(&s);
    cr_assert_gt(hf_norm(out.segments[1].rotation_mdeg), 0.0);
    cr_assert(isnan(out.segments[1].expected.mid));
    cr_assert_null(out.segments[1].expected_movement);
    cr_assert(isnan(out.elements[0].to_mm.x), "it has no other end");
}

/* The rate of a group is published for the force that would load a canine's root as its own are loaded: its
 * force by the areas of the roots. */
Test(assemble, a_rate_is_that_of_the_load_on_the_roots) {
    setup s;
    build(&s);
    s.in.plate_count = s.in.screw_count = 0;
    hf_arches arches;
    hf_report report = hf_report_on(&arena);
    hf_arches_of(&s.in, &report, &arches);
    double area[3];
    for (int t = 0; t < 3; t++) {
        hf_tooth tooth;
        hf_tooth_of(NULL, &arches.place[hf_tooth_slot((const int[]){13, 16, 17}[t])], &tooth);
        area[t] = tooth.area_mm2;
    }
    hf_element_in *load = add(&s, "load", HF_ELEMENT_APPLIED);
    load->to.kind = HF_END_TOOTH, load->to.tooth = 16, load->to.at = HF_AT_CREST;
    load->applied_force_n = hf_vec3_of(0, 0.3, 0);
    hf_segment_out told = evaluated(&s).segments[0];
    cr_assert_str_eq(told.expected_movement, "molar-distalisation");
    double canine_n = 0.3 * area[0] / (area[1] + area[2]);
    cr_assert_float_eq(
        told.expected.mid, hf_rate_expected(HF_MOVE_MOLAR_DISTALISATION, canine_n).per_month.mid, 1e-9);
}

/* 1 N across an arm of 20 mm on a lone screw: 20 N mm, or on two screws 7.5 mm apart (the middle of the usual
 * 6 to 9) 20 / 7.5 = 2.67 N each. */
Test(assemble, a_lone_screw_is_told_what_a_second_would_carry) {
    setup s;
    build(&s);
    load_hook(&s, hf_vec3_of(0, 1, 0));
    hf_answer out = evaluated(&s);
    const char *message = "";
    for (size_t i = 0; i < out.finding_count; i++) {
        if (strcmp(out.findings[i].code, "single-screw") == 0) message = out.findings[i].message;
    }
    cr_assert(strstr(message, "20.0 N mm") && strstr(message, "7.5 mm") && strstr(message, "2.67 N each"),
        "%s", message);
}

/* ---- what nothing holds, and what doubles do not hold */

static const char *refused_at(const setup *s) {
    hf_answer out;
    if (hf_evaluate(&s->in, &arena, &out)) return NULL;
    cr_assert_eq(out.problem_count, 1);
    return hf_arena_printf(&arena, "%s %s", out.problems[0].pointer, out.problems[0].detail);
}

Test(assemble, a_support_without_stiffness_is_named) {
    setup s;
    build(&s);
    s.teeth[2].ligament.normal_modulus_mpa = s.teeth[2].ligament.shear_modulus_mpa = 0.0;
    const char *problem = refused_at(&s);
    cr_assert(problem && strstr(problem, "/segments") && strstr(problem, "'left'"), "%s", problem);
    build(&s);
    s.plate.material = (hf_material_in){.modulus_mpa = 0.0, .poisson = 0.3, .yield_mpa = NAN};
    problem = refused_at(&s);
    cr_assert(problem && strstr(problem, "/plates plate 'plate'"), "%s", problem);
    build(&s);
    s.in.plate_count = s.in.screw_count = 0;
    s.segments[0].wired = true;
    s.segments[0].wire_section.rectangle_mm[1] = 1e-120; /* whose cube is 0: no stiffness against bending */
    hf_element_in *load = add(&s, "load", HF_ELEMENT_APPLIED);
    load->to.kind = HF_END_SEGMENT, load->to.segment = "right", load->to.at_mm = xyz(-26, 37, 0);
    load->applied_force_n = hf_vec3_of(0, 0, 1);
    problem = refused_at(&s);
    cr_assert(problem && strstr(problem, "/segments") && strstr(problem, "'right'"), "%s", problem);
}

/* A tooth on a ligament so soft that its movement overflows long before its loads do. */
static hf_element_in *pull_a_soft_tooth(setup *s, hf_element_kind kind, double force_n) {
    build(s);
    s->in.plate_count = s->in.screw_count = 0;
    s->in.segment_count = 0, s->in.tooth_count = 1;
    s->teeth[0].ligament.normal_modulus_mpa = s->teeth[0].ligament.shear_modulus_mpa = 1e-9;
    hf_element_in *element = add(s, "pull", kind);
    element->to.kind = HF_END_TOOTH, element->to.tooth = 16;
    if (kind == HF_ELEMENT_APPLIED) {
        element->applied_force_n = hf_vec3_of(0, force_n, 0);
    } else {
        element->from.kind = HF_END_FIXED, element->from.fixed_mm = xyz(0, 60, 0);
        element->force_n = force_n;
    }
    return element;
}

/* The largest force, to 2 %, under which the tooth's movement is still a number. */
static double largest_force_n(hf_element_kind kind) {
    double force = 1e290;
    setup s;
    for (hf_answer out;; force *= 1.02) {
        pull_a_soft_tooth(&s, kind, force * 1.02);
        if (!hf_evaluate(&s.in, &arena, &out)) return force;
    }
}

/* A chain loses more than half within four weeks: what is left of twice the largest force can be told of the
 * teeth, but not what it was at first of the screws. */
Test(assemble, a_peak_that_overflows_is_refused) {
    double most = largest_force_n(HF_ELEMENT_CHAIN);
    setup s;
    pull_a_soft_tooth(&s, HF_ELEMENT_CHAIN, most)->activated_on = today - 28;
    hf_answer out;
    cr_assert(hf_evaluate(&s.in, &arena, &out));
    double left = out.elements[0].force_n / most;
    cr_assert_lt(left, 0.6);
    pull_a_soft_tooth(&s, HF_ELEMENT_CHAIN, 1.5 * most)->activated_on = today - 28;
    cr_assert_str_eq(
        refused_at(&s), " the numbers leave the range of the arithmetic: check moduli, sizes and loads");
}

/* Where the numbers told hold but a draw about them does not, no range is told. */
Test(assemble, draws_that_overflow_tell_no_range) {
    setup s;
    pull_a_soft_tooth(&s, HF_ELEMENT_APPLIED, largest_force_n(HF_ELEMENT_APPLIED));
    s.in.uncertainty.samples = 200;
    cr_assert_not(evaluated(&s).has_uncertainty);
    hf_answer out;
    double modulus = 1e298;
    do {
        modulus *= 1.1;
        pull_a_soft_tooth(&s, HF_ELEMENT_APPLIED, 1.0);
        s.teeth[0].ligament.normal_modulus_mpa = s.teeth[0].ligament.shear_modulus_mpa = 1.1 * modulus;
    } while (hf_evaluate(&s.in, &arena, &out));
    s.in.uncertainty.samples = 200;
    s.teeth[0].ligament.normal_modulus_mpa = s.teeth[0].ligament.shear_modulus_mpa = 1e290;
    cr_assert(evaluated(&s).has_uncertainty);
    s.teeth[0].ligament.normal_modulus_mpa = s.teeth[0].ligament.shear_modulus_mpa = modulus;
    cr_assert_not(evaluated(&s).has_uncertainty, "a stiffness that overflows when drawn");
}

/* Bonded the head's movement is still a number, in fresh bone it is not: no other end is told. */
Test(assemble, a_soft_interface_that_overflows_tells_no_sharing) {
    setup s;
    hf_answer out;
    double force = 1e290;
    do {
        force *= 1.02;
        build(&s);
        s.in.tooth_count = s.in.segment_count = 0;
        for (int n = 0; n < NODES; n++)
            s.nodes[n].at.xyz_mm.x +=
                1e5; /* a long rigid offset, so that movements overflow before moments */
        load_hook(&s, hf_vec3_of(0, 1.02 * force, 0));
    } while (hf_evaluate(&s.in, &arena, &out));
    s.elements[0].applied_force_n.y = force;
    cr_assert(isnan(evaluated(&s).screws[0].sharing.lateral_n[0]));
    s.elements[0].applied_force_n.y = 1.0;
    cr_assert_not(isnan(evaluated(&s).screws[0].sharing.lateral_n[0]));
}
