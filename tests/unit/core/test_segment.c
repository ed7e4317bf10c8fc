#include "../../../core/segment.h"

#include <criterion/criterion.h>
#include <string.h>

#include "../../../core/arch.h"

/* Centres and movement of teeth and groups against closed forms and published groups. */

#define EXPECT_NEAR(got, want, off)                                                                          \
    cr_expect(                                                                                               \
        fabs((got) - (want)) <= (off), "%s = %.12g, expected %.12g", #got, (double)(got), (double)(want))

static hf_arena arena;
static hf_arches arches;

static void fresh(void) {
    hf_arena_init(&arena, 1 << 14, 0);
    hf_report report = hf_report_on(&arena);
    hf_case in = hf_case_default();
    hf_arches_of(&in, &report, &arches);
}

static void gone(void) {
    hf_arena_fini(&arena);
}

TestSuite(segment, .init = fresh, .fini = gone);

/* A group of teeth of the default arch. */
typedef struct group {
    hf_tooth teeth[16];
    const hf_tooth *members[16];
    hf_segment segment;
} group;

static void join(group *g, size_t count) {
    for (size_t i = 0; i < count; i++)
        g->members[i] = &g->teeth[i];
    hf_segment_of("group", g->members, count, &g->segment);
}

static void gather(group *g, const int *numbers, size_t count) {
    for (size_t i = 0; i < count; i++)
        hf_tooth_of(NULL, &arches.place[hf_tooth_slot(numbers[i])], &g->teeth[i]);
    join(g, count);
}

#define GATHER(g, ...)                                                                                       \
    gather((g), (const int[]){__VA_ARGS__}, sizeof((const int[]){__VA_ARGS__}) / sizeof(int))

/* One upright tooth with its crest at the origin; upper right, so that mesial is +x, buccal -y, coronal -z.
 */
static void single(group *g, int tooth, const hf_root *root, hf_ligament ligament) {
    hf_tooth_in in = hf_tooth_default();
    in.tooth = tooth;
    in.roots = root;
    in.root_count = root ? 1 : 0;
    in.ligament = ligament;
    hf_tooth_place place = {.tooth = tooth, .mesial = {1, 0, 0}, .buccal = {0, -1, 0}, .coronal = {0, 0, -1}};
    hf_tooth_of(&in, &place, &g->teeth[0]);
    join(g, 1);
}

static hf_segment_out describe(const group *g, hf_wrench load, hf_vec3 at) {
    hf_twist twist;
    hf_segment_out out;
    hf_wrench there = hf_wrench_move(load, at, g->segment.at_mm);
    cr_assert(hf_mat6_solve(&g->segment.k, there, &twist));
    hf_segment_describe(&g->segment, load, at, twist, NULL, &arena, &out);
    return out;
}

static hf_wrench force(double x, double y, double z) {
    return (hf_wrench){{x, y, z}, {0, 0, 0}};
}

/* The upper central incisor of an independent quadrature (converged to 5e-15): half-widths 3.2 and 2.95 on
 * the middle of a ligament of 0.2 mm, E 0.08, nu 0.45. Centres 4.33014 and 4.37784 mm below the crest,
 * sigma^2 10.01675 and 9.89596. */
static const hf_root incisor = {11.8, 6.2, 5.7, 0.5, {0, 0, 0}};
static const hf_ligament soft = {0.2, 0.303448275862069, 0.0275862068965517};

Test(segment, centres_of_a_single_root) {
    group g;
    single(&g, 11, &incisor, soft);
    hf_segment_out out = describe(&g, force(0.3, -0.4, 0), hf_vec3_of(0, 0, -7));
    EXPECT_NEAR(out.views[HF_FRONTAL].centre_of_resistance_mm[0], 0.0, 1e-9);
    EXPECT_NEAR(out.views[HF_FRONTAL].centre_of_resistance_mm[1], 4.33014148493, 1e-6);
    EXPECT_NEAR(out.views[HF_SAGITTAL].centre_of_resistance_mm[1], 4.37783731395, 1e-6);
    EXPECT_NEAR(out.views[HF_FRONTAL].sigma2_mm2, 10.0167542992, 1e-5);
    EXPECT_NEAR(out.views[HF_SAGITTAL].sigma2_mm2, 9.89595664319, 1e-5);
    EXPECT_NEAR(out.views[HF_OCCLUSAL].centre_of_resistance_mm[0], 0.0, 1e-9);
    EXPECT_NEAR(g.segment.centre_mm.z, 0.5 * (4.33014148493 + 4.37783731395), 1e-6);
    EXPECT_NEAR(out.centre_radius_mm, 0.5 * (4.37783731395 - 4.33014148493), 1e-6);
    EXPECT_NEAR(out.views[HF_FRONTAL].force_n, 0.3, 1e-12);
    EXPECT_NEAR(out.views[HF_SAGITTAL].force_n, 0.4, 1e-12);
    EXPECT_NEAR(out.views[HF_OCCLUSAL].force_n, 0.5, 1e-12);
    EXPECT_NEAR(out.views[HF_FRONTAL].moment_to_force_mm, 7 + 4.33014148493, 1e-6);
}

/* a b = sigma^2 (Naegerl et al. 1991): the centre of rotation lies sigma^2/a apical of the centre of
 * resistance, for a force a mm coronal of it. Here told in both side views of the same tooth. */
Test(segment, distance_of_force_times_distance_of_rotation) {
    group g;
    single(&g, 11, &incisor, soft);
    for (double arm = -6.0; arm <= 12.0; arm += 4.5) {
        hf_segment_out out = describe(&g, force(0.5, -1, 0), hf_vec3_of(0, 0, -arm));
        double a = arm + 4.37783731395, b = out.views[HF_SAGITTAL].centre_of_rotation_mm[1] - 4.37783731395;
        EXPECT_NEAR(a * b, 9.89595664319, 1e-4);
        a = arm + 4.33014148493;
        b = out.views[HF_FRONTAL].centre_of_rotation_mm[1] - 4.33014148493;
        EXPECT_NEAR(a * b, 10.0167542992, 1e-4);
    }
    hf_segment_out still = describe(&g, force(0, -1, 0), hf_vec3_of(0, 0, 4.377837313950));
    cr_expect(fabs(still.views[HF_SAGITTAL].centre_of_rotation_mm[1]) > 1e6 ||
              isnan(still.views[HF_SAGITTAL].centre_of_rotation_mm[1]));
    cr_expect(isnan(still.views[HF_FRONTAL].moment_to_force_mm), "no force in that plane");
}

/* Leaning by 30 degrees in the side view changes nothing for a force that leans along. */
Test(segment, a_leaning_root_keeps_its_sigma2) {
    group g;
    single(&g, 11, &incisor, soft);
    double c = cos(M_PI / 6), s = sin(M_PI / 6);
    hf_tooth_in in = hf_tooth_default();
    in.tooth = 11;
    in.roots = &incisor;
    in.root_count = 1;
    in.ligament = soft;
    hf_tooth_place place = {.tooth = 11, .mesial = {1, 0, 0}, .buccal = {0, -c, s}, .coronal = {0, -s, -c}};
    hf_tooth_of(&in, &place, &g.teeth[0]);
    join(&g, 1);
    hf_segment_out out = describe(&g, force(0, -c, s), hf_vec3_of(0, 0, 0));
    EXPECT_NEAR(out.views[HF_SAGITTAL].sigma2_mm2, 9.89595664319, 1e-5);
    EXPECT_NEAR(out.views[HF_SAGITTAL].moment_to_force_mm, 4.37783731395, 1e-6);
    EXPECT_NEAR(out.views[HF_SAGITTAL].centre_of_resistance_mm[0], 4.37783731395 * s, 1e-6);
    EXPECT_NEAR(out.views[HF_SAGITTAL].centre_of_resistance_mm[1], 4.37783731395 * c, 1e-6);
}

/* Direction of the axes by the right hand: a force towards mesial at the crown tips it mesially, and so on.
 * Levers and products by hand: 1 N at 10 mm from the centre is 10 N mm. */
Test(segment, local_components) {
    group g;
    single(&g, 11, &incisor, soft);
    hf_vec3 crown = hf_add(g.segment.centre_mm, hf_vec3_of(0, 0, -10));
    hf_local_out l = describe(&g, force(1, 0, 0), crown).local;
    EXPECT_NEAR(l.mesial_n, 1.0, 1e-12);
    EXPECT_NEAR(l.tip_nmm, 10.0, 1e-9);
    EXPECT_NEAR(l.torque_nmm, 0.0, 1e-9);
    l = describe(&g, force(0, -1, 0), crown).local;
    EXPECT_NEAR(l.buccal_n, 1.0, 1e-12);
    EXPECT_NEAR(l.torque_nmm, 10.0, 1e-9);
    EXPECT_NEAR(l.tip_nmm, 0.0, 1e-9);
    l = describe(&g, force(0, -1, 0), hf_add(g.segment.centre_mm, hf_vec3_of(3, 0, 0))).local;
    EXPECT_NEAR(l.rotation_nmm, 3.0, 1e-9);
    l = describe(&g, force(0, 0, 1), g.segment.centre_mm).local;
    EXPECT_NEAR(l.occlusal_n, -1.0, 1e-12);
}

/* Left and right mirrored: the same words for the same clinical load. */
Test(segment, local_components_mirror) {
    const int pairs[][2] = {{16, 26}, {46, 36}, {13, 23}, {44, 34}};
    for (size_t i = 0; i < 4; i++) {
        group r, l;
        GATHER(&r, pairs[i][0]);
        GATHER(&l, pairs[i][1]);
        hf_wrench load = {{0.3, -0.5, 0.7}, {4, -3, 2}}, mirrored = {{-0.3, -0.5, 0.7}, {4, 3, -2}};
        hf_vec3 at = r.teeth[0].place.attachment_mm[HF_AT_BRACKET], other = hf_vec3_of(-at.x, at.y, at.z);
        hf_segment_out a = describe(&r, load, at), b = describe(&l, mirrored, other);
        const double x[] = {a.local.mesial_n, a.local.buccal_n, a.local.occlusal_n, a.local.tip_nmm,
            a.local.torque_nmm, a.local.rotation_nmm, a.mean_kpa, a.peak_kpa};
        const double y[] = {b.local.mesial_n, b.local.buccal_n, b.local.occlusal_n, b.local.tip_nmm,
            b.local.torque_nmm, b.local.rotation_nmm, b.mean_kpa, b.peak_kpa};
        for (int k = 0; k < 8; k++)
            EXPECT_NEAR(x[k], y[k], 1e-9 * (1 + fabs(y[k])));
        cr_expect_str_eq(a.movement, b.movement);
        cr_expect_gt(fabs(a.local.mesial_n), 0.05);
    }
}

/* Published centres, mm apical and mm behind the central incisor's edge, by trial forces in the side view.
 * The default teeth are not those of the publications: 3 mm vertically and 5 mm sagittally are asked for, no
 * more. Lower: Jo et al. 2017, Korean J Orthod 47:21 (read). Upper: Jeong et al. 2009, Korean J Orthod 39:83
 * (value from memory). */
Test(segment, centres_of_published_groups) {
    group g;
    const struct {
        int jaw, last;
        double apical, behind;
    } rows[] = {{40, 2, 13.0, 6.0}, {40, 3, 13.5, 8.5}, {40, 7, 13.5, 25.0}, {10, 2, 13.5, 12.0},
        {10, 7, 11.0, 26.5}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        int numbers[14];
        for (int k = 0; k < rows[i].last; k++) {
            numbers[2 * k] = rows[i].jaw + k + 1;
            numbers[2 * k + 1] = (rows[i].jaw == 10 ? 20 : 30) + k + 1;
        }
        gather(&g, numbers, 2 * (size_t)rows[i].last);
        hf_vec3 centre = g.segment.plane_centre[HF_SAGITTAL];
        EXPECT_NEAR(fabs(centre.z), rows[i].apical, 3.0);
        EXPECT_NEAR(centre.y, rows[i].behind, 5.0);
        EXPECT_NEAR(g.segment.centre_mm.x, 0.0, 1e-9);
    }
    /* Upper six front teeth: 9 mm apical and 13.5 mm behind the middle of the labial wire (Sung et al. 2010,
     * Am J Orthod Dentofacial Orthop 137:648, read). */
    GATHER(&g, 13, 12, 11, 21, 22, 23);
    hf_vec3 wire = arches.place[hf_tooth_slot(11)].attachment_mm[HF_AT_BRACKET];
    hf_vec3 centre = g.segment.plane_centre[HF_SAGITTAL];
    EXPECT_NEAR(centre.z - wire.z, 9.0, 3.0);
    EXPECT_NEAR(centre.y - wire.y, 13.5, 5.0);
}

/* Where 50 upper first molars have it (read): from the middle of the buccal crown face 4.94 +- 1.39 mm
 * lingual, 2.54 +- 2.7 distal, 7.86 +- 1.66 gingival. Lower first molar: 0.48 of the root from the crest (Am
 * J Orthod Dentofacial Orthop 2019;156:365, read), here to 15 %. Single roots: between 0.24 and 0.42
 * (published band, values from memory). */
Test(segment, centres_of_single_teeth) {
    group g;
    GATHER(&g, 16);
    const hf_tooth_place *p = &g.teeth[0].place;
    hf_vec3 from = hf_sub(g.segment.centre_mm, p->attachment_mm[HF_AT_BUCCAL_TUBE]);
    EXPECT_NEAR(-hf_dot(from, p->buccal), 4.94, 1.39);
    EXPECT_NEAR(-hf_dot(from, p->mesial), 2.54, 2.7);
    EXPECT_NEAR(-hf_dot(from, p->coronal), 7.86, 1.66);
    GATHER(&g, 46);
    p = &g.teeth[0].place;
    double depth = -hf_dot(hf_sub(g.segment.centre_mm, p->crest_mm), p->coronal);
    EXPECT_NEAR(depth / g.teeth[0].roots[0].length_mm, 0.48, 0.07);
    const int fronts[] = {11, 12, 13, 15, 41, 42, 43, 44, 45};
    for (size_t i = 0; i < 9; i++) {
        gather(&g, &fronts[i], 1);
        p = &g.teeth[0].place;
        depth = -hf_dot(hf_sub(g.segment.centre_mm, p->crest_mm), p->coronal) / g.teeth[0].roots[0].length_mm;
        cr_expect(depth > 0.24 && depth < 0.42, "tooth %d: %g", fronts[i], depth);
    }
}

/* A segment is the sum of its halves, wherever its reference lies. */
Test(segment, halves_add_up) {
    group whole, front, back;
    GATHER(&whole, 14, 15, 16, 17);
    GATHER(&front, 14, 15);
    GATHER(&back, 16, 17);
    hf_vec3 at = whole.segment.at_mm;
    hf_mat6 a = hf_mat6_move(&front.segment.k, front.segment.at_mm, at);
    hf_mat6 b = hf_mat6_move(&back.segment.k, back.segment.at_mm, at);
    for (int i = 0; i < 6; i++)
        for (int j = 0; j < 6; j++)
            EXPECT_NEAR(whole.segment.k.m[i][j], a.m[i][j] + b.m[i][j], 1e-9 * whole.segment.k.m[5][5]);
    EXPECT_NEAR(at.y, 0.5 * (front.segment.at_mm.y + back.segment.at_mm.y), 1e-12);
}

/* Two equal upright roots 8 mm apart: each plane's centre is in the middle at the single root's depth, and a
 * turn in the frontal plane gains 4 mm levers on the axial springs: sigma^2 = s2 + 4^2 Kz/Kx. */
Test(segment, two_equal_roots) {
    group one, two;
    single(&one, 11, &incisor, soft);
    single(&two, 11, &incisor, soft);
    two.teeth[1] = two.teeth[0];
    two.teeth[0].place.crest_mm = hf_vec3_of(-4, 0, 0);
    two.teeth[1].place.crest_mm = hf_vec3_of(4, 0, 0);
    join(&two, 2);
    EXPECT_NEAR(two.segment.plane_centre[HF_FRONTAL].z, 4.33014148493, 1e-6);
    EXPECT_NEAR(two.segment.plane_centre[HF_SAGITTAL].z, 4.37783731395, 1e-6);
    hf_segment_out out = describe(&two, force(1, 0, 0), hf_vec3_of(0, 0, -5));
    EXPECT_NEAR(
        out.views[HF_FRONTAL].sigma2_mm2, 10.0167542992 + 16.0 * 30.81108603338 / 117.7554454317, 1e-4);
    /* and for a force along the roots, turned against the axial stiffness instead */
    out = describe(&two, force(0, 0, 1), hf_vec3_of(2, 0, 0));
    EXPECT_NEAR(
        out.views[HF_FRONTAL].sigma2_mm2, 10.0167542992 * 117.7554454317 / 30.81108603338 + 16.0, 1e-4);
    EXPECT_NEAR(out.views[HF_FRONTAL].moment_to_force_mm, 2.0, 1e-9);
}

/* Six upper front teeth as one rigid body whose centre is 9 mm above the wire: 200 gf backwards at hooks of
 * 0, 2, 5, 8 mm give 1800, 1400, 800, 200 gf mm about it. */
Test(segment, hooks_bring_the_force_nearer_to_the_centre) {
    group g;
    GATHER(&g, 13, 12, 11, 21, 22, 23);
    const double gf = 9.80665e-3, hook[] = {0, 2, 5, 8}, want[] = {1800, 1400, 800, 200};
    for (int i = 0; i < 4; i++) {
        hf_vec3 at = hf_add(g.segment.plane_centre[HF_SAGITTAL], hf_vec3_of(0, -13.5, hook[i] - 9.0));
        hf_segment_out out = describe(&g, force(0, 200 * gf, 0), at);
        EXPECT_NEAR(out.views[HF_SAGITTAL].moment_to_force_mm * 200, want[i], 0.005 * want[i]);
    }
}

/* ---- movement */

static const char *moved(const group *g, hf_twist at_centre) {
    hf_segment_out out;
    hf_wrench none = {{0, 0, 0}, {0, 0, 0}};
    hf_twist twist = hf_twist_move(at_centre, g->segment.centre_mm, g->segment.at_mm);
    hf_segment_describe(&g->segment, none, g->segment.at_mm, twist, NULL, &arena, &out);
    return out.movement;
}

static hf_twist by(double x, double y, double z, double rx, double ry, double rz) {
    return (hf_twist){{x, y, z}, {rx, ry, rz}};
}

/* Upright 16: mesial +x, buccal -y, occlusal -z; a turn about +x carries its crown (at -z) to +y, palatally.
 */
Test(segment, movement_in_words) {
    group g;
    single(&g, 16, &incisor, soft);
    cr_expect_str_eq(moved(&g, by(0, 0, 0, 0, 0, 0)), "no load");
    cr_expect_str_eq(moved(&g, by(-0.01, 0, 0, 0, 0, 0)), "distal bodily movement");
    cr_expect_str_eq(moved(&g, by(0.01, -0.01, 0, 0, 0, 0)), "mesial and buccal bodily movement");
    cr_expect_str_eq(moved(&g, by(0, 0, 0.01, 0, 0, 0)), "intrusion");
    cr_expect_str_eq(moved(&g, by(0, 0, -0.01, 0, 0, 0)), "extrusion");
    cr_expect_str_eq(moved(&g, by(0, 0, 0.01, 0.001, 0, 0)), "intrusion with palatal crown tipping");
    cr_expect_str_eq(moved(&g, by(0, 0, 0.01, 0.0002, 0, 0)), "intrusion", "a fifth is not named");
    cr_expect_str_eq(moved(&g, by(0, 0, 0.01, 0.0003, 0, 0)), "intrusion with palatal crown tipping");
    /* a quarter of 0.01 mm at 10 mm is 0.00025 */
    cr_expect_str_eq(moved(&g, by(0, 0, 0.01, 0.000245, 0, 0)), "intrusion");
    cr_expect_str_eq(moved(&g, by(0, 0, 0.01, 0.000255, 0, 0)), "intrusion with palatal crown tipping");
    cr_expect_str_eq(moved(&g, by(0, 0, 0, -0.001, 0, 0)), "buccal crown tipping");
    cr_expect_str_eq(moved(&g, by(-0.01, 0, 0.004, 0, 0.001, 0)),
        "intrusion and distal movement with distal crown tipping");
    cr_expect_str_eq(moved(&g, by(0, 0, 0, 0, 0, -0.001)), "rotation of the mesial side to buccal");
    cr_expect_str_eq(moved(&g, by(-0.01, 0, 0, 0, 0, 0.001)),
        "distal movement with rotation of the mesial side to palatal");
    single(&g, 11, &incisor, soft);
    cr_expect_str_eq(moved(&g, by(0, -0.01, 0, 0, 0, 0)), "labial bodily movement");
    GATHER(&g, 46);
    cr_expect_str_eq(moved(&g, (hf_twist){g.segment.local.y, {0, 0, 0}}), "buccal bodily movement");
    cr_expect_str_eq(
        moved(&g, (hf_twist){hf_scale(g.segment.local.y, -1), {0, 0, 0}}), "lingual bodily movement");
    GATHER(&g, 42, 41, 31, 32);
    cr_expect(g.segment.crosses_midline);
    cr_expect_str_eq(moved(&g, (hf_twist){g.segment.local.z, {0, 0, 0}}), "extrusion");
    cr_expect_str_eq(
        moved(&g, (hf_twist){hf_scale(g.segment.local.y, -1), {0, 0, 0}}), "lingual bodily movement");
    cr_expect_str_eq(moved(&g, (hf_twist){g.segment.local.x, {0, 0, 0}}), "left bodily movement");
    GATHER(&g, 16, 26);
    cr_expect_str_eq(
        moved(&g, (hf_twist){hf_scale(g.segment.local.y, -1), {0, 0, 0}}), "posterior bodily movement");
}

Test(segment, units_of_the_movement) {
    group g;
    single(&g, 11, &incisor, soft);
    hf_segment_out out;
    hf_segment_describe(
        &g.segment, force(0, 0, 0), g.segment.at_mm, by(0.02, 0, 0, 0, 0, 0.01), NULL, &arena, &out);
    EXPECT_NEAR(out.translation_um.x, 20.0, 1e-9);
    EXPECT_NEAR(out.rotation_mdeg.z, 572.957795, 1e-5);
    cr_expect_eq(out.tooth_count, 1);
    cr_expect_eq(out.teeth[0], 11);
    cr_expect_str_eq(out.name, "group");
    cr_expect(isnan(out.views[HF_SAGITTAL].moment_to_force_mm));
    cr_expect(isnan(out.views[HF_SAGITTAL].sigma2_mm2));
    EXPECT_NEAR(out.views[HF_OCCLUSAL].centre_of_rotation_mm[1], 2.0, 1e-9);
    EXPECT_NEAR(out.views[HF_OCCLUSAL].centre_of_rotation_mm[0], 0.0, 1e-9);
}

/* The larger of two teeth's peaks; the mean weighs by root area. */
Test(segment, pressure_over_all_teeth) {
    group g;
    GATHER(&g, 15, 16);
    hf_twist twist = by(0.001, 0.002, 0.001, 1e-4, 0, 0);
    hf_segment_out out;
    hf_segment_describe(&g.segment, force(0, 0, 0), g.segment.at_mm, twist, NULL, &arena, &out);
    double mean[2], peak[2];
    for (int i = 0; i < 2; i++)
        hf_tooth_pressure(&g.teeth[i], hf_twist_move(twist, g.segment.at_mm, g.teeth[i].place.crest_mm),
            &mean[i], &peak[i]);
    double a = g.teeth[0].area_mm2, b = g.teeth[1].area_mm2;
    EXPECT_NEAR(out.peak_kpa, fmax(peak[0], peak[1]), 1e-12);
    EXPECT_NEAR(out.mean_kpa, (a * mean[0] + b * mean[1]) / (a + b), 1e-12);
    cr_expect_neq(peak[0], peak[1]);
}

/* Whatever way a load is told, the answer is the same; twice the load, twice the movement. */
Test(segment, load_told_elsewhere_and_doubled) {
    group g;
    GATHER(&g, 14, 15, 16, 17);
    hf_wrench load = {{0.2, 1.1, 0.7}, {3, 5, -4}}, twice = {{0.4, 2.2, 1.4}, {6, 10, -8}};
    hf_vec3 here = {-20, 30, 5}, there = {10, -40, 25};
    hf_segment_out a = describe(&g, load, here), b = describe(&g, hf_wrench_move(load, here, there), there);
    hf_segment_out c = describe(&g, twice, here);
    EXPECT_NEAR(hf_norm(hf_sub(a.moment_nmm, b.moment_nmm)), 0.0, 1e-9);
    EXPECT_NEAR(hf_norm(hf_sub(a.translation_um, b.translation_um)), 0.0, 1e-9);
    EXPECT_NEAR(hf_norm(hf_sub(hf_scale(a.translation_um, 2), c.translation_um)), 0.0, 1e-9);
    EXPECT_NEAR(2 * a.peak_kpa, c.peak_kpa, 1e-9);
    for (int v = 0; v < HF_VIEW_COUNT; v++) {
        EXPECT_NEAR(a.views[v].sigma2_mm2, c.views[v].sigma2_mm2, 1e-9);
        EXPECT_NEAR(a.views[v].centre_of_rotation_mm[0], c.views[v].centre_of_rotation_mm[0], 1e-6);
    }
    cr_expect_str_eq(a.movement, c.movement);
}
