/* Ranges against cases whose distribution is known in closed form. */
#include "../../../core/uncertainty.h"

#include <criterion/criterion.h>

#include "../../../core/evaluate.h"
#include "../../../core/evidence.h"

static const double z_95 = 1.6448536269514722;

static hf_arena arena;

static void begin(void) {
    hf_arena_init(&arena, 1 << 20, 0);
}
static void end(void) {
    hf_arena_fini(&arena);
}
TestSuite(uncertainty, .init = begin, .fini = end);

static hf_point xyz(double x, double y, double z) {
    hf_point point = hf_point_default();
    point.kind = HF_POINT_XYZ;
    point.xyz_mm = hf_vec3_of(x, y, z);
    return point;
}

/* One screw, a straight arm of 15 mm from its head, a known load at the arm's end. Bone fixed by the case. */
typedef struct lone {
    hf_screw_in screw;
    hf_node_in nodes[2];
    hf_bar_in bar;
    hf_seat_in seat;
    hf_fitting_in fitting;
    hf_plate_in plate;
    hf_element_in load;
    hf_case in;
} lone;

static void build(lone *l, hf_vec3 force, hf_vec3 moment) {
    l->screw = hf_screw_default();
    l->screw.name = "A";
    l->screw.site = "palate-median";
    l->screw.entry = xyz(0, 0, 0);
    l->screw.axis = hf_vec3_of(0, 0, 1);
    l->screw.diameter_mm = 2.0;
    l->screw.length_mm = 9.0;
    l->screw.tissue_mm = 1.5;
    l->screw.stand_off_mm = 1.0;
    l->screw.cortex_mm = 1.4;
    l->screw.cortex_modulus_mpa = 13700.0;
    l->screw.cancellous_modulus_mpa = 1000.0;
    l->screw.interface_factor = 1.0;
    for (int n = 0; n < 2; n++) {
        l->nodes[n] = hf_node_default();
        l->nodes[n].name = n ? "end" : "seat";
        l->nodes[n].at = xyz(15.0 * n, 0, 2.5);
    }
    l->bar = hf_bar_default();
    l->bar.from = "seat";
    l->bar.to = "end";
    l->bar.section.kind = HF_SECTION_ROUND;
    l->bar.section.round_mm = 1.5;
    l->seat = (hf_seat_in){"seat", "A"};
    l->fitting = hf_fitting_default();
    l->fitting.node = "end";
    l->plate = hf_plate_default();
    l->plate.name = "arm";
    l->plate.nodes = l->nodes, l->plate.node_count = 2;
    l->plate.bars = &l->bar, l->plate.bar_count = 1;
    l->plate.seats = &l->seat, l->plate.seat_count = 1;
    l->plate.fittings = &l->fitting, l->plate.fitting_count = 1;
    l->load = hf_element_default();
    l->load.name = "load";
    l->load.kind = HF_ELEMENT_APPLIED;
    l->load.to.kind = HF_END_FITTING;
    l->load.to.fitting = "end";
    l->load.applied_force_n = force;
    l->load.applied_moment_nmm = moment;
    l->in = hf_case_default();
    l->in.on = 20000;
    l->in.screws = &l->screw, l->in.screw_count = 1;
    l->in.plates = &l->plate, l->in.plate_count = 1;
    l->in.elements = &l->load, l->in.element_count = 1;
    l->in.uncertainty.samples = 20000;
}

static hf_answer told(const hf_case *in) {
    hf_answer out;
    cr_assert(hf_evaluate(in, &arena, &out));
    return out;
}

/* 5 % and 95 % of 20000 draws are known to about 0.015 standard deviations each: four of those, of 2 x 1.645,
 * are 4 %. */
static void near_normal(hf_range got, double mean, double sd) {
    cr_expect_float_eq(got.mid, mean, 0.04 * sd);
    cr_expect_float_eq((got.high - got.low) / (2.0 * z_95 * sd), 1.0, 0.04, "%g to %g", got.low, got.high);
    cr_expect_float_eq(got.high + got.low - 2.0 * mean, 0.0, 0.12 * sd);
}

/* The axis leans in two directions by normals of a small deviation s: cos(lean) = 1 - s^2 on the mean. */
static double cosine(void) {
    double s = tan(HF_EV(SPREAD_AXIS) * M_PI / 180.0);
    return 1.0 - s * s;
}

/* Statics of one screw: the couple about the axis is all the screw's, so it spreads as the load does: a tenth
 * up and down at 5 and 95 %. */
Test(uncertainty, a_couple_spreads_as_its_load) {
    lone l;
    build(&l, hf_vec3_absent(), hf_vec3_of(0, 0, 20.0));
    hf_answer out = told(&l.in);
    cr_assert_eq(out.screw_spread_count, 1);
    cr_expect_eq(out.samples, 20000);
    near_normal(
        out.screw_spreads[0].axis_moment_nmm, 20.0 * cosine(), 20.0 * HF_EV(FORCE_MEASURED_SPREAD) / z_95);
}

/* A force across the arm: moment = force (15 + how far the head stands off its place). Independent normals:
 * the force's share of 15 mm, the entry along the arm, and the free length times the lean of the axis. Linear
 * but for products of two small spreads. */
Test(uncertainty, arm_and_force_add_as_independent_normals) {
    lone l;
    build(&l, hf_vec3_of(0, 2.0, 0), hf_vec3_absent());
    hf_range got = told(&l.in).screw_spreads[0].axis_moment_nmm;
    double by_force = 15.0 * HF_EV(FORCE_MEASURED_SPREAD) / z_95, by_entry = HF_EV(SPREAD_ENTRY),
           by_lean = 2.5 * tan(HF_EV(SPREAD_AXIS) * M_PI / 180.0);
    near_normal(got, 2.0 * 15.0 * cosine(),
        2.0 * sqrt(by_force * by_force + by_entry * by_entry + by_lean * by_lean));
}

/* Teeth alone under a known force: the movement is force by stiffness, a normal by a lognormal. With the
 * ligament's 0.4 and the force's 0.061 the logarithm is normal to well within a hundredth. */
Test(uncertainty, teeth_move_by_force_and_ligament) {
    lone l;
    build(&l, hf_vec3_of(0, 1.0, 0), hf_vec3_absent());
    static const int numbers[] = {16};
    hf_segment_in segment = hf_segment_default();
    segment.name = "molar";
    segment.teeth = numbers, segment.tooth_count = 1;
    l.in.segments = &segment, l.in.segment_count = 1;
    l.load.to = hf_element_default().to;
    l.load.to.kind = HF_END_TOOTH;
    l.load.to.tooth = 16;
    hf_answer out = told(&l.in);
    cr_assert_eq(out.segment_spread_count, 1);
    hf_range got = out.segment_spreads[0].translation_um, turn = out.segment_spreads[0].rotation_mdeg;
    double by_force = HF_EV(FORCE_MEASURED_SPREAD) / z_95,
           sd = hypot(HF_EV(SPREAD_PERSON_LIGAMENT), by_force);
    double moved = hf_norm(out.segments[0].translation_um);
    cr_expect_float_eq(log(got.mid / moved), 0.0, 0.04 * sd);
    cr_expect_float_eq(log(got.high / got.low) / (2.0 * z_95 * sd), 1.0, 0.04);
    cr_expect_float_eq(turn.high / turn.mid, got.high / got.mid, 1e-9, "one cause, one factor");
    cr_expect_float_eq(turn.mid / hf_norm(out.segments[0].rotation_mdeg), got.mid / moved, 1e-9);
}

/* Without a load there is nothing to spread; a screw outside the studied range gets no stress. */
Test(uncertainty, no_range_where_no_figure_is) {
    lone l;
    build(&l, hf_vec3_of(0, 0, 0), hf_vec3_absent());
    l.in.uncertainty.samples = 100;
    l.screw.cortex_mm = 6.0;
    hf_answer out = told(&l.in);
    cr_expect(isnan(out.screw_spreads[0].cortex_peak_mpa.mid));
    cr_expect(isnan(out.screw_spreads[0].strain_microstrain.low));
    cr_expect_eq(out.screw_spreads[0].axis_moment_nmm.high, 0.0);
    l.in.uncertainty.samples = HF_ABSENT;
    out = told(&l.in);
    cr_expect_not(out.has_uncertainty);
    cr_expect_eq(out.screw_spread_count, 0);
}

/* An open interface spreads what depends on it, and only its own way: the softer, the less bending at the
 * bone. */
Test(uncertainty, an_open_interface_widens_what_it_bears_on) {
    lone l;
    build(&l, hf_vec3_of(0, 2.0, 0), hf_vec3_absent());
    hf_range fixed = told(&l.in).screw_spreads[0].cortex_peak_mpa;
    hf_answer nominal = told(&l.in);
    l.screw.interface_factor = NAN;
    hf_range open = told(&l.in).screw_spreads[0].cortex_peak_mpa;
    /* One screw carries all, however soft its bone: statics. */
    cr_expect_float_eq(open.mid / fixed.mid, 1.0, 0.02);
    cr_expect(fixed.low < nominal.screws[0].load.cortex_peak_mpa);
    cr_expect(fixed.high > nominal.screws[0].load.cortex_peak_mpa);
    cr_expect(fixed.high / fixed.low > 1.15, "cortex, mucosa and place each move it");
}

/* The same seed tells the same, another seed within what 2000 draws leave open. */
Test(uncertainty, seeds) {
    lone l;
    build(&l, hf_vec3_of(0, 2.0, 0), hf_vec3_absent());
    l.in.uncertainty.samples = 2000;
    hf_range one = told(&l.in).screw_spreads[0].cortex_peak_mpa,
             again = told(&l.in).screw_spreads[0].cortex_peak_mpa;
    l.in.uncertainty.seed = 2;
    hf_range other = told(&l.in).screw_spreads[0].cortex_peak_mpa;
    cr_expect(one.low == again.low && one.mid == again.mid && one.high == again.high);
    cr_expect(one.low != other.low && one.mid != other.mid && one.high != other.high);
    cr_expect_float_eq(one.mid, other.mid, 0.1 * (one.high - one.low));
}

/* The same bone, given and left to its site: as much in the middle, and wider by what sites vary. */
Test(uncertainty, bone_that_is_assumed_widens_the_range) {
    lone l;
    build(&l, hf_vec3_of(0, 2.0, 0), hf_vec3_absent());
    l.screw.site = "palate-paramedian";
    l.screw.cortex_mm = 1.38;
    l.screw.cancellous_modulus_mpa = 1370.0;
    hf_answer given = told(&l.in);
    l.screw.cortex_mm = l.screw.tissue_mm = NAN;
    l.screw.cortex_modulus_mpa = l.screw.cancellous_modulus_mpa = NAN;
    hf_answer assumed = told(&l.in);
    cr_assert_float_eq(assumed.screws[0].load.strain_microstrain / given.screws[0].load.strain_microstrain,
        1.0, 1e-9, "the same bone");
    hf_range narrow = given.screw_spreads[0].strain_microstrain,
             wide = assumed.screw_spreads[0].strain_microstrain;
    cr_expect_float_eq(wide.mid / narrow.mid, 1.0, 0.1);
    cr_expect_gt(log(wide.high / wide.low), 1.2 * log(narrow.high / narrow.low));
}
