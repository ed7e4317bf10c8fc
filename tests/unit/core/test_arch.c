#include "../../../core/arch.h"

#include <criterion/criterion.h>
#include <string.h>

#include "../../../core/evidence.h"

/* The default arch against the published form and measurements; points as a clinician tells them. */

#define EXPECT_NEAR(got, want, off)                                                                          \
    cr_expect(                                                                                               \
        fabs((got) - (want)) <= (off), "%s = %.12g, expected %.12g", #got, (double)(got), (double)(want))

static void expect_vec(const char *what, hf_vec3 got, hf_vec3 want, double off) {
    cr_expect(hf_norm(hf_sub(got, want)) <= off, "%s = (%.12g, %.12g, %.12g), expected (%.12g, %.12g, %.12g)",
        what, got.x, got.y, got.z, want.x, want.y, want.z);
}

static hf_arena arena;
static hf_report report;
static hf_case in;
static hf_arches arches;

static void fresh(void) {
    hf_arena_init(&arena, 1 << 14, 0);
    report = hf_report_on(&arena);
    in = hf_case_default();
}

static void gone(void) {
    hf_arena_fini(&arena);
}

TestSuite(arch, .init = fresh, .fini = gone);

static const hf_tooth_place *place_of(int tooth) {
    return &arches.place[hf_tooth_slot(tooth)];
}

static const hf_assumption *assumed_at(const char *pointer) {
    for (size_t i = 0; i < report.assumed_count; i++)
        if (strcmp(report.assumed[i].pointer, pointer) == 0) return &report.assumed[i];
    return NULL;
}

static bool problem_at(const char *pointer) {
    for (size_t i = 0; i < report.problem_count; i++)
        if (strcmp(report.problems[i].pointer, pointer) == 0) return true;
    return false;
}

/* Where the tooth meets the arch line: edge of a front tooth, buccal face of a back tooth at the occlusal
 * plane. */
static hf_vec3 on_line(int tooth) {
    const hf_tooth_place *p = place_of(tooth);
    const hf_morphology *m = hf_morphology_of(tooth);
    hf_vec3 top = hf_add_scaled(p->crest_mm, p->coronal, 1.5 + m->crown_mm);
    hf_vec3 outward = hf_unit(hf_vec3_of(p->buccal.x, p->buccal.y, 0.0));
    return tooth % 10 <= 3 ? top : hf_add_scaled(top, outward, 0.5 * m->buccolingual_mm);
}

/* The beta function as printed (Braun et al. 1998; value from memory), forward of the second molars. */
static double forward(double x, double width, double depth) {
    return 3.0314 * depth * pow((0.5 + x / width) * (0.5 - x / width), 0.8);
}

Test(arch, teeth_stand_on_the_published_form) {
    in.arches[HF_MAXILLA] = (hf_arch){58.0, 47.0, 16.0, hf_vec3_absent()};
    in.arches[HF_MANDIBLE] = (hf_arch){55.0, 43.0, NAN, hf_vec3_absent()};
    hf_arches_of(&in, &report, &arches);
    for (int quadrant = 1; quadrant <= 4; quadrant++) {
        const hf_arch *arch = &in.arches[quadrant <= 2 ? HF_MAXILLA : HF_MANDIBLE];
        for (int position = 1; position <= 7; position++) {
            int tooth = 10 * quadrant + position;
            hf_vec3 at = on_line(tooth);
            EXPECT_NEAR(at.y, arch->depth_mm - forward(at.x, arch->width_mm, arch->depth_mm), 0.01);
            EXPECT_NEAR(at.z, 0.0, 1e-12);
            cr_expect_eq(at.x > 0.0, hf_tooth_is_left(tooth));
            /* mesial along the form's tangent, towards the midline */
            double step = at.x > 0.0 ? -1e-4 : 1e-4;
            double dy = -(forward(at.x + step, arch->width_mm, arch->depth_mm) -
                          forward(at.x - step, arch->width_mm, arch->depth_mm));
            hf_vec3 tangent = hf_unit(hf_vec3_of(2 * step, dy, 0.0));
            expect_vec("mesial", place_of(tooth)->mesial, tangent, 1e-3);
        }
    }
}

/* Length of the printed form between two sides' distances from the midline, in small steps. */
static double form_length(double from, double to, double width, double depth) {
    double sum = 0.0;
    const int steps = 20000;
    for (int i = 0; i < steps; i++) {
        double a = from + (to - from) * i / steps, b = from + (to - from) * (i + 1) / steps;
        sum += hypot(b - a, forward(b, width, depth) - forward(a, width, depth));
    }
    return sum;
}

/* Neighbours' middles are apart as the means of their widths, in one proportion along the whole arch. */
Test(arch, teeth_follow_by_their_widths) {
    in.arches[HF_MAXILLA] = (hf_arch){60.0, 46.0, NAN, hf_vec3_absent()};
    hf_arches_of(&in, &report, &arches);
    double sum = 0.0, row = 8.5 + 6.5 + 7.5 + 7.0 + 7.0 + 10.0 + 9.0;
    const double widths[] = {8.5, 6.5, 7.5, 7.0, 7.0, 10.0, 9.0};
    double spread = form_length(0.0, 30.0, 60.0, 46.0) / row;
    for (int i = 0; i < 7; i++) {
        double along = form_length(0.0, fabs(on_line(21 + i).x), 60.0, 46.0);
        EXPECT_NEAR(along / spread, sum + 0.5 * widths[i], 0.15);
        sum += widths[i];
    }
    /* third molars straight on behind the second */
    EXPECT_NEAR(on_line(28).x, 30.0, 1e-9);
    EXPECT_NEAR(on_line(28).y, 46.0 + 0.5 * 8.5 * spread, 0.01);
    expect_vec("mesial", place_of(28)->mesial, hf_vec3_of(0, -1, 0), 1e-12);
}

/* Mina et al. 2017 (read): facial surfaces of the first molars 57.92 +- 4.75 mm apart in the upper
 * arch, 54.19 +- 5.31 in the lower; 31.59 +- 2.90 and 28.10 +- 2.59 mm behind the incisors. Held to one
 * standard deviation. */
Test(arch, default_arch_agrees_with_measured_arches) {
    hf_arches_of(&in, &report, &arches);
    EXPECT_NEAR(2.0 * on_line(26).x, 57.92, 4.75);
    EXPECT_NEAR(2.0 * on_line(36).x, 54.19, 5.31);
    EXPECT_NEAR(on_line(26).y, 31.59, 2.90);
    EXPECT_NEAR(on_line(36).y, 28.10, 2.59);
    cr_expect_eq(report.assumed_count, 0, "nothing is assumed for teeth that the case does not name");
}

/* Cephalometric inclinations to the occlusal plane (value from memory): upper incisors lean 25 degrees,
 * lower 15. */
Test(arch, incisors_lean) {
    hf_arches_of(&in, &report, &arches);
    EXPECT_NEAR(acos(-place_of(11)->coronal.z) * 180.0 / M_PI, 25.0, 1e-9);
    EXPECT_NEAR(acos(place_of(31)->coronal.z) * 180.0 / M_PI, 15.0, 1e-9);
    cr_expect_lt(place_of(11)->coronal.y, -0.3, "the crown leans forward");
    cr_expect_lt(place_of(31)->coronal.y, -0.2);
    for (int q = 10; q <= 40; q += 10)
        for (int position = 4; position <= 8; position++)
            cr_expect_gt(fabs(place_of(q + position)->coronal.z), cos(5.0 * M_PI / 180.0));
}

/* Crest 1.5 mm below the neck; attachments in the middle of the crown's height, half its thickness away. 16:
 * crown 7.5, buccolingual 11; 11: crown 10.5, labiolingual 7. */
Test(arch, crown_and_attachments_follow_from_crest_and_axes) {
    hf_arches_of(&in, &report, &arches);
    const double sizes[][3] = {{16, 7.5, 11.0}, {11, 10.5, 7.0}, {36, 7.5, 10.5}};
    for (size_t i = 0; i < 3; i++) {
        const hf_tooth_place *p = place_of((int)sizes[i][0]);
        hf_vec3 crown = hf_add_scaled(p->crest_mm, p->coronal, 1.5 + 0.5 * sizes[i][1]);
        expect_vec("crown", p->crown_mm, crown, 1e-12);
        expect_vec("bracket", p->attachment_mm[HF_AT_BRACKET],
            hf_add_scaled(crown, p->buccal, 0.5 * sizes[i][2]), 1e-12);
        expect_vec("tube", p->attachment_mm[HF_AT_BUCCAL_TUBE], p->attachment_mm[HF_AT_BRACKET], 0.0);
        expect_vec("palatal", p->attachment_mm[HF_AT_PALATAL],
            hf_add_scaled(crown, p->buccal, -0.5 * sizes[i][2]), 1e-12);
        expect_vec("crest", p->attachment_mm[HF_AT_CREST], p->crest_mm, 0.0);
    }
}

/* Upper right and lower left axes are right-handed, the others their mirror images; all are orthonormal. */
Test(arch, left_mirrors_right) {
    hf_arches_of(&in, &report, &arches);
    for (int q = 1; q <= 4; q += 3)
        for (int position = 1; position <= 8; position++) {
            const hf_tooth_place *r = place_of(10 * q + position),
                                 *l = place_of((q == 1 ? 20 : 30) + position);
            const hf_vec3 pairs[][2] = {{r->crest_mm, l->crest_mm}, {r->mesial, l->mesial},
                {r->buccal, l->buccal}, {r->coronal, l->coronal}, {r->crown_mm, l->crown_mm}};
            for (size_t i = 0; i < 5; i++)
                expect_vec(
                    "mirror", pairs[i][0], hf_vec3_of(-pairs[i][1].x, pairs[i][1].y, pairs[i][1].z), 0.0);
            double hand = hf_dot(hf_cross(r->mesial, r->buccal), r->coronal);
            EXPECT_NEAR(hand, q == 1 ? 1.0 : -1.0, 1e-12);
            EXPECT_NEAR(hf_dot(r->mesial, r->coronal), 0.0, 1e-12);
            cr_expect_lt(r->buccal.x + r->buccal.y, 0.0, "buccal points out of the mouth");
        }
}

/* ---- teeth of the case */

static hf_tooth_in named(int tooth) {
    hf_tooth_in t = hf_tooth_default();
    t.tooth = tooth;
    return t;
}

Test(arch, what_a_tooth_leaves_out_is_reported) {
    hf_tooth_in teeth[2] = {named(16), named(36)};
    teeth[1].crest_mm = hf_vec3_of(20, 30, -9);
    teeth[1].root_axis = hf_vec3_of(0, 0, -2);
    teeth[1].mesial_axis = hf_vec3_of(-1, -3, 0.5);
    in.teeth = teeth;
    in.tooth_count = 2;
    in.arches[HF_MANDIBLE] = (hf_arch){55.0, 43.0, NAN, hf_vec3_absent()};
    hf_arches_of(&in, &report, &arches);
    const hf_assumption *a = assumed_at("/teeth/0/crest_mm");
    cr_assert_not_null(a);
    expect_vec("crest", a->vec3, place_of(16)->crest_mm, 0.0);
    cr_expect_str_eq(a->source, "default arch");
    cr_assert_not_null(assumed_at("/teeth/0/root_axis"));
    expect_vec(
        "root axis", assumed_at("/teeth/0/root_axis")->vec3, hf_scale(place_of(16)->coronal, -1.0), 0.0);
    cr_assert_not_null(assumed_at("/teeth/0/mesial_axis"));
    cr_assert_not_null(assumed_at("/arches/maxilla/width_mm"));
    cr_expect_eq(assumed_at("/arches/maxilla/width_mm")->real, HF_EV(ARCH_UPPER_WIDTH));
    cr_assert_not_null(assumed_at("/arches/maxilla/depth_mm"));
    cr_expect_eq(report.assumed_count, 5, "and nothing else: no vault, nothing of the lower jaw");
    /* the given axes: made perpendicular, unit, the third completing them towards the cheek */
    const hf_tooth_place *p = place_of(36);
    expect_vec("crest", p->crest_mm, hf_vec3_of(20, 30, -9), 0.0);
    expect_vec("coronal", p->coronal, hf_vec3_of(0, 0, 1), 1e-12);
    expect_vec("mesial", p->mesial, hf_scale(hf_vec3_of(-1, -3, 0), 1 / sqrt(10.0)), 1e-12);
    expect_vec("buccal", p->buccal, hf_scale(hf_vec3_of(3, -1, 0), 1 / sqrt(10.0)), 1e-12);
    expect_vec("crown", p->crown_mm, hf_vec3_of(20, 30, -9 + 1.5 + 3.75), 1e-12);
    cr_expect_eq(report.problem_count, 0);
}

Test(arch, faults_of_teeth_are_all_named) {
    hf_tooth_in teeth[6] = {named(16), named(19), named(16), named(26), named(27), named(37)};
    teeth[3].root_axis = hf_vec3_of(0, 0, 0);
    teeth[4].root_axis = hf_vec3_of(0, 1, 0);
    teeth[4].mesial_axis = hf_vec3_of(0, -2, 0);
    teeth[5].mesial_axis = hf_vec3_of(0, 0, 0);
    in.teeth = teeth;
    in.tooth_count = 6;
    hf_arches_of(&in, &report, &arches);
    cr_expect(problem_at("/teeth/1/tooth"));
    cr_expect(problem_at("/teeth/2/tooth"));
    cr_expect(problem_at("/teeth/3/root_axis"));
    cr_expect(problem_at("/teeth/4/mesial_axis"));
    cr_expect(problem_at("/teeth/5/mesial_axis"));
    cr_expect_eq(report.problem_count, 5);
}

/* A case turned as a whole carries its teeth's stiffness along: K' = T K T^T with T of the same rotation. */
Test(arch, turned_teeth_keep_their_stiffness) {
    double c = cos(0.6), s = sin(0.6);
    const hf_axes turn = {{c, s, 0}, {-0.8 * s, 0.8 * c, 0.6}, {0.6 * s, -0.6 * c, 0.8}};
    const int numbers[] = {16, 26, 44, 34};
    for (int i = 0; i < 4; i++) {
        hf_tooth_in tooth = named(numbers[i]);
        in.teeth = &tooth;
        in.tooth_count = 1;
        hf_tooth straight, turned;
        tooth.crest_mm = hf_vec3_of(1, 2, 3);
        tooth.root_axis = hf_vec3_of(0.1, 0.2, i < 2 ? 1.0 : -1.0);
        tooth.mesial_axis = hf_vec3_of(0.3, -1.0, 0.1);
        hf_arches_of(&in, &report, &arches);
        hf_tooth_of(&tooth, place_of(numbers[i]), &straight);
        hf_vec3 *given[] = {&tooth.root_axis, &tooth.mesial_axis};
        for (int k = 0; k < 2; k++)
            *given[k] = hf_add(hf_add(hf_scale(turn.x, given[k]->x), hf_scale(turn.y, given[k]->y)),
                hf_scale(turn.z, given[k]->z));
        hf_arches_of(&in, &report, &arches);
        hf_tooth_of(&tooth, place_of(numbers[i]), &turned);
        const double r[3][3] = {
            {turn.x.x, turn.y.x, turn.z.x}, {turn.x.y, turn.y.y, turn.z.y}, {turn.x.z, turn.y.z, turn.z.z}};
        for (int a = 0; a < 6; a++)
            for (int b = 0; b < 6; b++) {
                double want = 0.0;
                for (int k = 0; k < 3; k++)
                    for (int l = 0; l < 3; l++)
                        want += r[a % 3][k] * straight.k.m[a / 3 * 3 + k][b / 3 * 3 + l] * r[b % 3][l];
                EXPECT_NEAR(turned.k.m[a][b], want, 1e-9);
            }
    }
}

/* ---- points */

static hf_point near(int tooth, double mesial, double buccal, double occlusal) {
    hf_point p = hf_point_default();
    p.kind = HF_POINT_NEAR;
    p.tooth = tooth;
    p.mesial_mm = mesial;
    p.buccal_mm = buccal;
    p.occlusal_mm = occlusal;
    return p;
}

Test(arch, points_near_a_tooth) {
    hf_tooth_in tooth = named(16);
    tooth.crest_mm = hf_vec3_of(-24, 30, 9);
    tooth.root_axis = hf_vec3_of(0, 0, 1);
    tooth.mesial_axis = hf_vec3_of(0, -1, 0);
    in.teeth = &tooth;
    in.tooth_count = 1;
    hf_arches_of(&in, &report, &arches);
    hf_vec3 at, normal;
    /* crown centre 1.5 + 7.5/2 below the crest; mesial is forward, buccal to the right, occlusal down */
    hf_point p = near(16, 1.0, -6.0, -3.0);
    cr_assert(hf_arches_point(&arches, &p, "/screws/0/entry_mm", &report, &at, &normal));
    expect_vec("point", at, hf_vec3_of(-24 + 6, 30 - 1, 9 - 5.25 + 3), 1e-12);
    expect_vec("normal", normal, hf_vec3_of(1, 0, 0), 1e-12);
    cr_assert_not_null(assumed_at("/screws/0/entry_mm"));
    expect_vec("told", assumed_at("/screws/0/entry_mm")->vec3, at, 0.0);
    p = near(16, NAN, 6.0, NAN);
    cr_assert(hf_arches_point(&arches, &p, "/a", &report, &at, &normal));
    expect_vec("point", at, hf_vec3_of(-24 - 6, 30, 9 - 5.25), 1e-12);
    expect_vec("normal", normal, hf_vec3_of(-1, 0, 0), 1e-12);
    p = near(99, 0, 0, 0);
    cr_expect_not(hf_arches_point(&arches, &p, "/b", &report, &at, NULL));
    cr_expect(problem_at("/b/near"));
}

Test(arch, bare_coordinates_and_nothing) {
    hf_arches_of(&in, &report, &arches);
    hf_point p = hf_point_default();
    hf_vec3 at, normal;
    cr_expect_not(hf_arches_point(&arches, &p, "/c", &report, &at, &normal));
    cr_expect(problem_at("/c"));
    p.kind = HF_POINT_XYZ;
    p.xyz_mm = hf_vec3_of(1, 2, 3);
    cr_assert(hf_arches_point(&arches, &p, "/d", &report, &at, &normal));
    expect_vec("point", at, p.xyz_mm, 0.0);
    cr_expect_not(hf_vec3_is_given(normal));
    cr_expect_null(assumed_at("/d"));
}

static hf_point palate(double right, double behind) {
    hf_point p = hf_point_default();
    p.kind = HF_POINT_PALATE;
    p.right_mm = right;
    p.behind_incisors_mm = behind;
    return p;
}

static hf_vec3 vault_at(double right, double behind, hf_vec3 *normal) {
    hf_point p = palate(right, behind);
    hf_vec3 at;
    cr_assert(hf_arches_point(&arches, &p, "/p", &report, &at, normal), "%g %g", right, behind);
    return at;
}

/* The normal is the slope of the surface itself, taken from points a little way off; it points into the
 * mouth. */
Test(arch, points_on_the_palate) {
    in.arches[HF_MAXILLA] = (hf_arch){58.0, 47.0, 16.0, hf_vec3_absent()};
    hf_arches_of(&in, &report, &arches);
    hf_vec3 n, other, off;
    expect_vec("right is -x", vault_at(3, 22, &n), hf_vec3_of(-3, 22, vault_at(-3, 22, &other).z), 1e-12);
    expect_vec("mirrored normal", n, hf_vec3_of(-other.x, other.y, other.z), 1e-12);
    EXPECT_NEAR(vault_at(0, 34, &n).z, 16.0, 1e-12);
    expect_vec("normal of the top", n, hf_vec3_of(0, 0, -1), 1e-12);
    /* by hand: half risen at 14.1 of 28.2 mm; 10 mm beside the middle of 40 mm a quarter of the parabola is
     * lost */
    EXPECT_NEAR(vault_at(0, 14.1, &n).z, 8.0 + 8.0 * 0.5, 1e-9);
    EXPECT_NEAR(vault_at(10, 47, &n).z, 8.0 + 8.0 * 0.75, 1e-9);
    double before = 0.0;
    for (double y = 10.0; y < 28.0; y += 1.0) {
        double z = vault_at(0, y, &n).z;
        cr_expect_gt(z, before, "the vault rises backwards");
        before = z;
    }
    const double spots[][2] = {{3, 22}, {-8, 18}, {10, 30}, {0, 15}, {12, 40}, {5, 46.9}, {0, 28.2}};
    for (size_t i = 0; i < 7; i++) {
        double x = spots[i][0], y = spots[i][1], h = 1e-5;
        vault_at(x, y, &n);
        hf_vec3 side = hf_sub(vault_at(x + h, y, &off), vault_at(x - h, y, &off));
        hf_vec3 back = hf_sub(vault_at(x, y + h, &off), vault_at(x, y - h, &off));
        hf_vec3 want = hf_unit(hf_cross(side, back));
        expect_vec("normal", n, want.z > 0.0 ? hf_scale(want, -1.0) : want, 1e-5);
        cr_expect_lt(n.z, -0.3);
    }
    const double outside[][2] = {{0, 3}, {0, 48}, {25, 30}, {-13, 20}, {0, -5}, {0, NAN}};
    for (size_t i = 0; i < 6; i++) {
        hf_point p = palate(outside[i][0], outside[i][1]);
        size_t so_far = report.problem_count;
        cr_expect_not(
            hf_arches_point(&arches, &p, "/q", &report, &off, NULL), "%g %g", outside[i][0], outside[i][1]);
        cr_expect_eq(report.problem_count, so_far + 1);
    }
    cr_expect(problem_at("/q/palate"));
}

Test(arch, a_palatal_point_assumes_the_vault) {
    hf_screw_in screw = hf_screw_default();
    screw.entry = palate(3, 22);
    in.screws = &screw;
    in.screw_count = 1;
    hf_arches_of(&in, &report, &arches);
    cr_assert_not_null(assumed_at("/arches/maxilla/vault_height_mm"));
    cr_assert_not_null(assumed_at("/arches/maxilla/width_mm"));
    cr_expect_eq(report.assumed_count, 3);
}

static hf_point vestibule(int one, int two, double apical) {
    hf_point p = hf_point_default();
    p.kind = HF_POINT_VESTIBULE;
    p.between[0] = one;
    p.between[1] = two;
    p.apical_mm = apical;
    return p;
}

/* Two molars upright side by side, necks 10 mm thick: the bone's surface lies 5 + 0.96 mm to the cheek (dos
 * Santos et al. 2019: 0.96 mm of bone over the middle of the root). */
Test(arch, points_in_the_vestibule) {
    hf_tooth_in teeth[2] = {named(16), named(17)};
    for (int i = 0; i < 2; i++) {
        teeth[i].crest_mm = hf_vec3_of(-25, 30 + 10 * i, 9);
        teeth[i].root_axis = hf_vec3_of(0, 0, 1);
        teeth[i].mesial_axis = hf_vec3_of(0, -1, 0);
    }
    in.teeth = teeth;
    in.tooth_count = 2;
    hf_arches_of(&in, &report, &arches);
    hf_vec3 at, normal;
    hf_point p = vestibule(17, 16, 6.0);
    cr_assert(hf_arches_point(&arches, &p, "/v", &report, &at, &normal));
    expect_vec("point", at, hf_vec3_of(-25 - 5.96, 35, 15), 1e-9);
    expect_vec("normal", normal, hf_vec3_of(-1, 0, 0), 1e-12);
    cr_assert_not_null(assumed_at("/v"));
    p.clear_mm = 2.5; /* off the bone, along the normal */
    cr_assert(hf_arches_point(&arches, &p, "/v", &report, &at, &normal));
    expect_vec("clear point", at, hf_vec3_of(-25 - 5.96 - 2.5, 35, 15), 1e-9);
    p = vestibule(11, 21, 5.0); /* neighbours across the midline */
    cr_assert(hf_arches_point(&arches, &p, "/w", &report, &at, &normal));
    EXPECT_NEAR(at.x, 0.0, 1e-12);
    cr_expect_lt(normal.y, -0.8, "out of the lip side");
    const int wrong[][2] = {{16, 14}, {16, 46}, {18, 28}, {16, 16}, {16, 19}, {19, 16}, {28, 48}};
    for (size_t i = 0; i < 7; i++) {
        p = vestibule(wrong[i][0], wrong[i][1], 5.0);
        cr_expect_not(
            hf_arches_point(&arches, &p, "/x", &report, &at, NULL), "%d %d", wrong[i][0], wrong[i][1]);
    }
    cr_expect_eq(report.problem_count, 7);
    cr_expect(problem_at("/x/vestibule/between"));
}

/* One axis given, the other stays that of the arch and is told; the given one is made perpendicular. Given
 * along the other it says nothing, and is the one at fault. */
Test(arch, one_axis_may_be_given_alone) {
    hf_arches_of(&in, &report, &arches);
    const hf_tooth_place usual = *place_of(16);
    hf_tooth_in teeth[2] = {named(16), named(26)};
    teeth[0].mesial_axis = hf_vec3_of(0, -3, 0);
    teeth[1].root_axis = place_of(26)->mesial;
    in.teeth = teeth;
    in.tooth_count = 2;
    in.arches[HF_MAXILLA].width_mm = 60.0;
    hf_arches_of(&in, &report, &arches);
    const hf_tooth_place *p = place_of(16);
    expect_vec("coronal", p->coronal, usual.coronal, 0.01);
    EXPECT_NEAR(hf_dot(p->mesial, p->coronal), 0.0, 1e-12);
    EXPECT_NEAR(hf_dot(hf_cross(p->mesial, p->coronal), hf_vec3_of(0, -1, 0)), 0.0, 1e-12);
    cr_expect_lt(p->buccal.x, -0.9, "towards the cheek of the right side");
    cr_expect_null(assumed_at("/teeth/0/mesial_axis"));
    cr_assert_not_null(assumed_at("/teeth/0/root_axis"));
    cr_expect_str_eq(assumed_at("/teeth/0/root_axis")->source, "default arch",
        "its width alone is no arch that was measured");
}

Test(arch, a_root_along_the_arch_is_at_fault_itself) {
    hf_arches_of(&in, &report, &arches);
    hf_tooth_in lying = named(16);
    lying.root_axis = place_of(16)->mesial;
    in.teeth = &lying;
    in.tooth_count = 1;
    hf_arches_of(&in, &report, &arches);
    cr_expect(problem_at("/teeth/0/root_axis"));
    cr_expect_eq(report.problem_count, 1);
}

/* An arch no deeper than its teeth are thick leaves no vault. */
Test(arch, no_palate_inside_a_flat_arch) {
    in.arches[HF_MAXILLA].depth_mm = HF_EV(PALATE_MARGIN);
    hf_arches_of(&in, &report, &arches);
    hf_point p = palate(0.0, 5.0);
    hf_vec3 at;
    cr_expect_not(hf_arches_point(&arches, &p, "/p", &report, &at, NULL));
    cr_expect(problem_at("/p/palate"));
}
