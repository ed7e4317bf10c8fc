/* What the plan fills in and refuses where no document leads: the smallest case, one screw under one plate.
 */
#include <criterion/criterion.h>
#include <string.h>

#include "../../../core/evaluate.h"

typedef struct setup {
    hf_screw_in screw;
    hf_node_in nodes[2];
    hf_bar_in bar;
    hf_seat_in seat;
    hf_fitting_in fitting;
    hf_plate_in plate;
    hf_element_in load;
    hf_case in;
} setup;

static hf_arena arena;
static void open_arena(void) {
    hf_arena_init(&arena, 1 << 16, 0);
}
static void close_arena(void) {
    hf_arena_fini(&arena);
}
TestSuite(plan, .init = open_arena, .fini = close_arena);

static hf_point xyz(double x, double y, double z) {
    hf_point point = hf_point_default();
    point.kind = HF_POINT_XYZ;
    point.xyz_mm = hf_vec3_of(x, y, z);
    return point;
}

/* A screw along z, a seat on its head (2.5 mm over the bone), a flat post of 6 mm on the seat, 1 N at its
 * end. */
static void build(setup *s) {
    memset(s, 0, sizeof *s);
    s->screw = hf_screw_default();
    s->screw.name = "A";
    s->screw.entry = xyz(0, 0, 0);
    s->screw.axis = hf_vec3_of(0, 0, 1);
    s->screw.diameter_mm = 2.0, s->screw.length_mm = 8.0, s->screw.tissue_mm = 1.5,
    s->screw.stand_off_mm = 1.0;
    s->nodes[0] = s->nodes[1] = hf_node_default();
    s->nodes[0].name = "seat", s->nodes[0].at = xyz(0, 0, 2.5);
    s->nodes[1].name = "end", s->nodes[1].at = xyz(0, 0, 8.5);
    s->bar = hf_bar_default();
    s->bar.from = "seat", s->bar.to = "end";
    s->bar.section.kind = HF_SECTION_RECTANGLE;
    s->bar.section.rectangle_mm[0] = 2.0, s->bar.section.rectangle_mm[1] = 1.0;
    s->seat = (hf_seat_in){"seat", "A"};
    s->fitting = hf_fitting_default();
    s->fitting.node = "end";
    s->plate = hf_plate_default();
    s->plate.name = "plate";
    s->plate.nodes = s->nodes, s->plate.node_count = 2;
    s->plate.bars = &s->bar, s->plate.bar_count = 1;
    s->plate.seats = &s->seat, s->plate.seat_count = 1;
    s->plate.fittings = &s->fitting, s->plate.fitting_count = 1;
    s->load = hf_element_default();
    s->load.name = "load", s->load.kind = HF_ELEMENT_APPLIED;
    s->load.to.kind = HF_END_FITTING, s->load.to.fitting = "end";
    s->load.applied_force_n = hf_vec3_of(1, 0, 0);
    s->in = hf_case_default();
    s->in.on = 20000, s->in.horizon_days = 42;
    s->in.screws = &s->screw, s->in.screw_count = 1;
    s->in.plates = &s->plate, s->in.plate_count = 1;
    s->in.elements = &s->load, s->in.element_count = 1;
}

static bool refused_at(const setup *s, const char *pointer) {
    hf_answer out;
    if (hf_evaluate(&s->in, &arena, &out)) return false;
    for (size_t i = 0; i < out.problem_count; i++) {
        if (strcmp(out.problems[i].pointer, pointer) == 0) return true;
    }
    return false;
}

/* The screws' mean axis cannot be the thickness of a bar that runs along it: a direction across is taken,
 * told, and bending follows it. */
Test(plan, bar_along_the_screws_gets_a_direction_across) {
    const hf_vec3 along[] = {{0, 0, 1}, {1, 0, 0}, {0, 1, 0}, {0.6, 0.8, 0}};
    for (int i = 0; i < 4; i++) {
        setup s;
        build(&s);
        s.screw.axis = along[i];
        s.nodes[0].at.xyz_mm = hf_scale(along[i], 2.5);
        s.nodes[1].at.xyz_mm = hf_scale(along[i], 8.5);
        hf_answer out;
        cr_assert(hf_evaluate(&s.in, &arena, &out));
        hf_vec3 normal = hf_vec3_absent();
        for (size_t a = 0; a < out.assumed_count; a++) {
            if (strcmp(out.assumed[a].pointer, "/plates/0/bars/0/normal") == 0) normal = out.assumed[a].vec3;
        }
        cr_assert_float_eq(hf_norm(normal), 1.0, 1e-12);
        cr_assert_float_eq(hf_dot(normal, along[i]), 0.0, 1e-12);
    }
}

/* Handbook cantilever: the end of the post moves P L^3/3EI + P L/(5/6 A G) more than its foot carries it
 * along; across the thickness I = w t^3/12, along the width t w^3/12. */
Test(plan, post_bends_about_the_direction_that_was_taken) {
    const double modulus = 105000.0, poisson = 0.34, length = 6.0, shear = modulus / (2.0 * (1.0 + poisson));
    const double inertia[] = {2.0 / 12.0, 8.0 / 12.0};
    for (int i = 0; i < 2; i++) {
        setup s;
        hf_fitting_in fittings[2] = {hf_fitting_default(), hf_fitting_default()};
        build(&s);
        fittings[0].node = "end", fittings[1].node = "seat";
        s.plate.fittings = fittings, s.plate.fitting_count = 2;
        s.plate.material = (hf_material_in){.modulus_mpa = modulus, .poisson = poisson, .yield_mpa = 480.0};
        s.bar.normal = hf_vec3_of(1, 0, 0);
        s.load.applied_force_n = i ? hf_vec3_of(0, 1, 0) : hf_vec3_of(1, 0, 0);
        hf_answer out;
        cr_assert(hf_evaluate(&s.in, &arena, &out));
        const hf_fitting_out *end = &out.plates[0].fittings[0], *foot = &out.plates[0].fittings[1];
        hf_vec3 carried = hf_cross(hf_scale(foot->rotation_mrad, 1e-3), hf_vec3_of(0, 0, length));
        hf_vec3 bent = hf_sub(end->deflection_mm, hf_add(foot->deflection_mm, carried));
        double wanted =
            length * length * length / (3.0 * modulus * inertia[i]) + length / (5.0 / 6.0 * 2.0 * shear);
        cr_assert_float_eq(i ? bent.y : bent.x, wanted, 1e-9 * wanted + 1e-12);
    }
}

Test(plan, normal_along_the_bar_is_refused) {
    setup s;
    build(&s);
    s.bar.normal = hf_vec3_of(0, 0, 3);
    cr_assert(refused_at(&s, "/plates/0/bars/0/normal"));
}

Test(plan, what_a_caller_without_a_decoder_may_leave_out) {
    setup s;
    build(&s);
    s.bar.section.kind = HF_SECTION_NONE;
    cr_assert(refused_at(&s, "/plates/0/bars/0/section"));
    build(&s);
    s.plate.seat_count = 0;
    cr_assert(refused_at(&s, "/plates/0/seats"));
    build(&s);
    hf_segment_in empty = hf_segment_default();
    empty.name = "empty";
    s.in.segments = &empty, s.in.segment_count = 1;
    cr_assert(refused_at(&s, "/segments/0/teeth"));
}

/* Numbers past what doubles hold, and a ligament without stiffness: refused in words, never infinities. */
Test(plan, arithmetic_that_overflows_is_refused) {
    setup s;
    build(&s);
    s.load.applied_force_n = hf_vec3_of(1e308, 0, 0);
    s.load.applied_moment_nmm = hf_vec3_of(0, 1e308, 0);
    cr_assert(refused_at(&s, ""));
}

Test(plan, support_without_stiffness_is_refused) {
    setup s;
    build(&s);
    hf_tooth_in tooth = hf_tooth_default();
    tooth.tooth = 16;
    tooth.ligament.normal_modulus_mpa = tooth.ligament.shear_modulus_mpa = 0.0;
    s.in.teeth = &tooth, s.in.tooth_count = 1;
    cr_assert(refused_at(&s, "/segments"));
}

/* A seat 5 mm beside the head: told, and its distance is that. */
Test(plan, seat_away_from_its_head_is_told) {
    setup s;
    build(&s);
    s.nodes[0].at.xyz_mm = hf_vec3_of(3, 4, 2.5);
    hf_answer out;
    cr_assert(hf_evaluate(&s.in, &arena, &out));
    double found = NAN;
    for (size_t i = 0; i < out.finding_count; i++) {
        if (strcmp(out.findings[i].code, "seat-offset") == 0) found = out.findings[i].value;
    }
    cr_assert_float_eq(found, 5.0, 1e-12);
}

/* A bar's own numbers go before the plate's: the handbook's cantilever of its own modulus on its own foot,
 * the rest being rigid. */
Test(plan, a_bar_may_have_a_material_of_its_own) {
    const double modulus = 70000.0, poisson = 0.33, length = 6.0, shear = modulus / (2.0 * (1.0 + poisson));
    setup s;
    hf_fitting_in fittings[2] = {hf_fitting_default(), hf_fitting_default()};
    build(&s);
    fittings[0].node = "end", fittings[1].node = "seat";
    s.plate.fittings = fittings, s.plate.fitting_count = 2;
    s.bar.material = (hf_material_in){.modulus_mpa = modulus, .poisson = poisson, .yield_mpa = NAN};
    s.bar.normal = hf_vec3_of(1, 0, 0);
    hf_answer out;
    cr_assert(hf_evaluate(&s.in, &arena, &out));
    const hf_fitting_out *end = &out.plates[0].fittings[0], *foot = &out.plates[0].fittings[1];
    double bent = end->deflection_mm.x - foot->deflection_mm.x - 1e-3 * foot->rotation_mrad.y * length;
    double wanted = pow(length, 3) / (3.0 * modulus * 2.0 / 12.0) + length / (5.0 / 6.0 * 2.0 * shear);
    cr_assert_float_eq(bent, wanted, 1e-9 * wanted);
}

/* An applied load may be told of either end. */
Test(plan, a_load_on_from_is_one_on_to) {
    setup s;
    build(&s);
    hf_answer to, from;
    cr_assert(hf_evaluate(&s.in, &arena, &to));
    s.load.from = s.load.to;
    s.load.to.kind = HF_END_NONE;
    cr_assert(hf_evaluate(&s.in, &arena, &from));
    cr_assert_eq(hf_norm(hf_sub(from.screws[0].load.head.force, to.screws[0].load.head.force)), 0.0);
    cr_assert_eq(from.elements[0].from_mm.z, 8.5);
    cr_assert(isnan(from.elements[0].to_mm.z));
}

static hf_vec3 assumed_axis(const hf_answer *out) {
    for (size_t a = 0; a < out->assumed_count; a++) {
        if (strcmp(out->assumed[a].pointer, "/screws/0/axis") == 0) return out->assumed[a].vec3;
    }
    return hf_vec3_absent();
}

/* Perpendicular means along the normal of the surface, for a molar's buccal face its buccal direction; a lean
 * of 30 degrees turns it so far towards anterior, -y. */
Test(plan, a_perpendicular_screw_stands_on_the_normal_or_leans_forward) {
    setup s;
    build(&s);
    hf_tooth_in tooth = hf_tooth_default();
    tooth.tooth = 16;
    tooth.crest_mm = hf_vec3_of(-25, 32, 8);
    tooth.root_axis = hf_vec3_of(0, 0, 1);
    tooth.mesial_axis = hf_vec3_of(0, -1, 0);
    s.in.teeth = &tooth, s.in.tooth_count = 1;
    s.screw.entry.kind = HF_POINT_NEAR, s.screw.entry.tooth = 16, s.screw.entry.buccal_mm = 3.0;
    s.screw.axis = hf_vec3_absent();
    s.screw.axis_perpendicular = true;
    hf_answer out;
    cr_assert(hf_evaluate(&s.in, &arena, &out));
    cr_assert_lt(hf_norm(hf_sub(assumed_axis(&out), hf_vec3_of(-1, 0, 0))), 1e-12);
    s.screw.tilt_deg = 30.0;
    cr_assert(hf_evaluate(&s.in, &arena, &out));
    cr_assert_lt(hf_norm(hf_sub(assumed_axis(&out), hf_vec3_of(-sqrt(0.75), -0.5, 0))), 1e-12);
}

/* Names left out are nobody's, so no two of them are the same; numbers that are no tooth are told where they
 * stand. */
Test(plan, nameless_things_are_not_taken_for_one_another) {
    static const int teeth[] = {16, 49};
    setup s;
    build(&s);
    hf_element_in loads[3] = {s.load, s.load, s.load};
    loads[0].name = loads[1].name = NULL;
    s.in.elements = loads, s.in.element_count = 3;
    hf_answer out;
    cr_assert(hf_evaluate(&s.in, &arena, &out));
    cr_assert_float_eq(out.screws[0].load.head.force.x, 3.0, 1e-9);
    hf_segment_in group = hf_segment_default();
    hf_tooth_in tooth = hf_tooth_default();
    group.name = "group", group.teeth = teeth, group.tooth_count = 2;
    tooth.tooth = 9;
    s.in.segments = &group, s.in.segment_count = 1;
    s.in.teeth = &tooth, s.in.tooth_count = 1;
    cr_assert(refused_at(&s, "/segments/0/teeth/1"));
    cr_assert(refused_at(&s, "/teeth/0/tooth"));
}
