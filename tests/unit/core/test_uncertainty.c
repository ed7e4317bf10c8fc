/* Ranges against cases whose distribution is known in closed form. */
#include "../../../core/uncertainty.h"

#include <criterion/criterion.h>

#include "../../../core/evaluate.h"
#include "../../../core/evidence.h"
#include "../../../core/sample.h"

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
    bool ok = hf_evaluate(in, &arena, &out);
    cr_assert(ok, "%s", ok ? "" : out.problems[0].detail);
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

/* ---- each cause by itself */

/* The screw under a load at its head, which also holds a tooth without ligament: what the tooth does the head
 * does. */
typedef struct held {
    lone l;
    hf_tooth_in tooth;
    hf_element_in elements[2];
} held;

static void hold(held *h, hf_vec3 force, hf_vec3 moment) {
    build(&h->l, force, moment);
    h->tooth = hf_tooth_default();
    h->tooth.tooth = 11; /* of one root: its centre is on the screw's axis */
    h->tooth.crest_mm = hf_vec3_of(0, 0, 0);
    h->tooth.root_axis = hf_vec3_of(0, 0, 1);
    h->tooth.mesial_axis = hf_vec3_of(1, 0, 0);
    h->tooth.ligament.normal_modulus_mpa = h->tooth.ligament.shear_modulus_mpa = 1e-9;
    h->l.fitting.node = h->l.load.to.fitting = "seat";
    h->elements[0] = h->l.load;
    h->elements[1] = hf_element_default();
    h->elements[1].name = "bar";
    h->elements[1].kind = HF_ELEMENT_RIGID_BAR;
    h->elements[1].from.kind = HF_END_FITTING, h->elements[1].from.fitting = "seat";
    h->elements[1].to.kind = HF_END_TOOTH, h->elements[1].to.tooth = 11;
    h->l.in.teeth = &h->tooth, h->l.in.tooth_count = 1;
    h->l.in.elements = h->elements, h->l.in.element_count = 2;
}

/* Standard deviation that a normal of the logarithm would have for this range. */
static double log_sd(hf_range got) {
    return log(got.high / got.low) / (2.0 * z_95);
}

static double by_force(void) {
    return HF_EV(FORCE_MEASURED_SPREAD) / z_95;
}

/* A force through the seat turns the screw by its distance from the axis: the entry's, or with a long neck
 * that of the lean. */
Test(uncertainty, entry_and_lean_are_levers) {
    for (int i = 0; i < 2; i++) {
        lone l;
        build(&l, hf_vec3_of(0, 2.0, 0), hf_vec3_absent());
        double neck = i ? 30.0 : 2.5;
        l.screw.stand_off_mm = neck - 1.5;
        l.nodes[0].at = xyz(0, 0, neck), l.nodes[1].at = xyz(15, 0, neck);
        l.fitting.node = l.load.to.fitting = "seat";
        double lean = neck * tan(HF_EV(SPREAD_AXIS) * M_PI / 180.0);
        near_normal(
            told(&l.in).screw_spreads[0].axis_moment_nmm, 0.0, 2.0 * hypot(HF_EV(SPREAD_ENTRY), lean));
    }
}

/* In bone as hard as iron the head's turn about the axis is that of the neck: M a (1 + nu)/(E I). */
Test(uncertainty, mucosa_lengthens_the_neck) {
    held h;
    hold(&h, hf_vec3_absent(), hf_vec3_of(0, 0, 20.0));
    h.l.screw.core_mm = 1.0, h.l.screw.modulus_mpa = 110000.0, h.l.screw.poisson = 0.33;
    h.l.screw.cortex_mm = 10.0, h.l.screw.cortex_modulus_mpa = 1e9, h.l.screw.cancellous_modulus_mpa = 1e8;
    double per_mm = 20.0 * 1.33 / (110000.0 * M_PI / 64.0) * 180e3 / M_PI;
    double mean = 2.5 * per_mm;
    near_normal(told(&h.l.in).segment_spreads[0].rotation_mdeg, mean,
        hypot(per_mm * HF_EV(SPREAD_TISSUE), mean * by_force()));
}

/* The bone's part of that turn, of a screw that does not twist, goes with E_cortex^(0.4591 + 0.0712 - 1) by
 * the law (screw_laws.def), with a cortex so thick that its thickness does not bear on it; and with the
 * interface alone, evenly in the logarithm from bonded to fresh. */
Test(uncertainty, cortex_modulus_and_interface_by_the_law) {
    held h;
    hold(&h, hf_vec3_absent(), hf_vec3_of(0, 0, 20.0));
    h.l.screw.core_mm = 3.0, h.l.screw.diameter_mm = 3.5, h.l.screw.modulus_mpa = 1e7;
    h.l.screw.tissue_mm = h.l.screw.stand_off_mm = 0.0, h.l.screw.cortex_mm = 10.0;
    h.l.screw.cortex_modulus_mpa = NAN;
    double both = hypot(HF_EV(SPREAD_PERSON_BONE), HF_EV(SPREAD_CORTEX_MODULUS));
    double wanted = hypot(0.4697 * both, by_force());
    cr_expect_float_eq(log_sd(told(&h.l.in).segment_spreads[0].rotation_mdeg) / wanted, 1.0, 0.02);
    h.l.screw.cortex_modulus_mpa = 13700.0;
    h.l.screw.interface_factor = NAN;
    hf_range got = told(&h.l.in).segment_spreads[0].rotation_mdeg;
    double whole = log(HF_EV(SCREW_INTERFACE_FRESH) / HF_EV(SCREW_INTERFACE_BONDED));
    cr_expect_float_eq(log(got.high / got.low) / (0.9 * whole), 1.0, 0.02);
}

/* A thick rigid screw without cortex sinks by force over the cancellous bone's stiffness. */
Test(uncertainty, cancellous_modulus_carries_the_push) {
    held h;
    hold(&h, hf_vec3_of(0, 0, -5.0), hf_vec3_absent());
    h.l.screw.core_mm = 3.0, h.l.screw.diameter_mm = 3.5, h.l.screw.modulus_mpa = 1e7;
    h.l.screw.tissue_mm = h.l.screw.stand_off_mm = 0.0, h.l.screw.length_mm = 20.0;
    h.l.screw.cortex_mm = 0.0, h.l.screw.cortex_modulus_mpa = 13700.0, h.l.screw.cancellous_modulus_mpa = NAN;
    double both = hypot(HF_EV(SPREAD_PERSON_BONE), HF_EV(SPREAD_CANCELLOUS_MODULUS));
    hf_range got = told(&h.l.in).segment_spreads[0].translation_um;
    cr_expect_float_eq(
        log_sd(got) / hypot(both, by_force()), 1.0, 0.03, "%g of %g", log_sd(got), hypot(both, by_force()));
}

/* Strain beside the screw under a couple across its axis, by the law (cortex / core)^-0.2353, times the load:
 * the product's quantiles from a grid of equally likely pairs. */
Test(uncertainty, cortex_thickness_by_the_law) {
    enum { steps = 400 };
    static double grid[steps * steps];
    lone l;
    build(&l, hf_vec3_absent(), hf_vec3_of(20.0, 0, 0));
    l.screw.core_mm = 1.28, l.screw.modulus_mpa = 110000.0, l.screw.cortex_mm = 1.2;
    l.fitting.node = l.load.to.fitting = "seat";
    for (int i = 0; i < steps; i++) {
        for (int j = 0; j < steps; j++) {
            double cortex = 1.2 + HF_EV(SPREAD_CORTEX) * hf_normal_quantile((i + 0.5) / steps);
            double load = 1.0 + by_force() * hf_normal_quantile((j + 0.5) / steps);
            grid[i * steps + j] = load * pow(fmax(cortex, 0.5) / 1.2, -0.2353);
        }
    }
    double wanted = log_sd(hf_sample_range(grid, steps * steps));
    cr_expect_float_eq(log_sd(told(&l.in).screw_spreads[0].strain_microstrain) / wanted, 1.0, 0.02);
}

/* A clinic's own figures stand in no table of ranges: they spread as a measured one does. */
Test(uncertainty, bone_of_the_clinics_own_site_spreads_as_measured) {
    lone l;
    build(&l, hf_vec3_of(0, 2.0, 0), hf_vec3_absent());
    hf_range given = told(&l.in).screw_spreads[0].strain_microstrain;
    hf_site_in own = hf_site_default();
    own.key = l.screw.site = "our own";
    own.jaw = HF_MAXILLA;
    own.loss_low = 0.02, own.loss_mid = 0.05, own.loss_high = 0.1;
    own.cortex_mm = l.screw.cortex_mm;
    own.source = "measured here";
    l.screw.cortex_mm = NAN;
    l.in.sites = &own, l.in.site_count = 1;
    hf_range assumed = told(&l.in).screw_spreads[0].strain_microstrain;
    cr_expect_float_eq(assumed.low, given.low, 1e-9 * given.low);
    cr_expect_float_eq(assumed.high, given.high, 1e-9 * given.high);
    l.screw.tissue_mm = NAN;
    cr_expect(
        told(&l.in).screw_spreads[0].strain_microstrain.high > 0.0, "nor is there a range of its mucosa");
}
