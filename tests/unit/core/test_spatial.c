#include "../../../core/spatial.h"

#include <criterion/criterion.h>

/* Checked by hand arithmetic, by springs written down one by one, and by a matrix whose inverse is known. */

#define EXPECT_NEAR(got, want, off)                                                                          \
    cr_expect(                                                                                               \
        fabs((got) - (want)) <= (off), "%s = %.12g, expected %.12g", #got, (double)(got), (double)(want))

static void expect_vec(const char *what, hf_vec3 got, hf_vec3 want) {
    cr_expect(hf_norm(hf_sub(got, want)) <= 1e-12,
        "%s = (%.12g, %.12g, %.12g), expected (%.12g, %.12g, %.12g)", what, got.x, got.y, got.z, want.x,
        want.y, want.z);
}

static void expect_same(const hf_mat6 *got, const hf_mat6 *want, double off) {
    for (int i = 0; i < 6; i++)
        for (int j = 0; j < 6; j++)
            cr_expect(fabs(got->m[i][j] - want->m[i][j]) <= off, "[%d][%d] = %.12g, expected %.12g", i, j,
                got->m[i][j], want->m[i][j]);
}

/* A spring of stiffness `k` along the unit vector n at the point p, about the origin: it answers to the shift
 * n . (u + w x p) = n . u + (p x n) . w. */
static void add_spring(hf_mat6 *sum, double k, hf_vec3 n, hf_vec3 p) {
    hf_vec3 m = hf_cross(p, n);
    const double row[6] = {n.x, n.y, n.z, m.x, m.y, m.z};
    for (int i = 0; i < 6; i++)
        for (int j = 0; j < 6; j++)
            sum->m[i][j] += k * row[i] * row[j];
}

static const struct {
    double k;
    hf_vec3 n, p;
} springs[] = {
    {3.0, {1.0, 0.0, 0.0}, {0.5, 2.0, -4.0}},
    {5.0, {0.0, 1.0, 0.0}, {-1.5, 1.0, -7.0}},
    {2.0, {0.0, 0.0, 1.0}, {2.5, -3.0, 1.0}},
    {7.0, {0.6, 0.8, 0.0}, {-2.0, 0.5, 3.0}},
    {1.5, {0.0, 0.6, -0.8}, {4.0, 1.0, 1.0}},
    {4.0, {-0.8, 0.0, 0.6}, {1.0, -2.0, 2.5}},
    {2.5, {0.0, 1.0, 0.0}, {3.0, 3.0, 3.0}},
};

/* The same springs, each point and direction carried by `map` and the whole shifted by -about. */
static hf_mat6 sprung(const hf_axes *map, hf_vec3 about) {
    hf_mat6 sum = {{{0.0}}};
    for (size_t s = 0; s < sizeof springs / sizeof *springs; s++) {
        hf_vec3 n = springs[s].n, p = springs[s].p;
        n = hf_add(hf_add(hf_scale(map->x, n.x), hf_scale(map->y, n.y)), hf_scale(map->z, n.z));
        p = hf_add(hf_add(hf_scale(map->x, p.x), hf_scale(map->y, p.y)), hf_scale(map->z, p.z));
        add_spring(&sum, springs[s].k, n, hf_sub(p, about));
    }
    return sum;
}

static const hf_axes world = {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}};
static const hf_vec3 origin = {0, 0, 0};

/* 10 N upwards 3 mm to the left: at the origin 30 N mm that lift the left side, about -y. */
Test(spatial, a_force_keeps_its_lever_when_told_elsewhere) {
    hf_wrench w = {{0, 0, 10}, {1, 2, 3}};
    hf_wrench at_origin = hf_wrench_move(w, hf_vec3_of(3, 0, 0), origin);
    expect_vec("force", at_origin.force, hf_vec3_of(0, 0, 10));
    expect_vec("moment", at_origin.moment, hf_vec3_of(1, 2 - 30, 3));
    hf_wrench two = hf_wrench_add(w, at_origin);
    expect_vec("sum", two.moment, hf_vec3_of(2, -26, 6));
}

/* A turn of 0.01 about z moves a point 3 mm along x by 0.03 along y. */
Test(spatial, a_turn_moves_distant_points) {
    hf_twist t = {{0.1, 0, 0}, {0, 0, 0.01}};
    expect_vec("shift", hf_twist_move(t, origin, hf_vec3_of(3, 0, 0)).shift, hf_vec3_of(0.1, 0.03, 0));
}

Test(spatial, stiffness_told_at_another_point) {
    hf_vec3 to = hf_vec3_of(1.5, -2.25, 4.0);
    hf_mat6 here = sprung(&world, origin), there = sprung(&world, to);
    hf_mat6 moved = hf_mat6_move(&here, origin, to);
    expect_same(&moved, &there, 1e-11);
}

Test(spatial, stiffness_turned_into_other_axes) {
    double c = cos(0.7), s = sin(0.7);
    hf_axes turned = {{c, s, 0}, {-0.6 * s, 0.6 * c, 0.8}, {0.8 * s, -0.8 * c, 0.6}};
    hf_mat6 local = sprung(&world, origin), want = sprung(&turned, origin);
    hf_mat6 got = hf_mat6_to_global(&local, &turned);
    expect_same(&got, &want, 1e-11);
}

/* Left-handed axes are a mirror: the mirrored springs, written down one by one, must come out. */
Test(spatial, stiffness_through_a_mirror) {
    double c = cos(0.7), s = sin(0.7);
    hf_axes mirrored = {{-c, -s, 0}, {-0.6 * s, 0.6 * c, 0.8}, {0.8 * s, -0.8 * c, 0.6}};
    hf_mat6 local = sprung(&world, origin), want = sprung(&mirrored, origin);
    hf_mat6 got = hf_mat6_to_global(&local, &mirrored);
    expect_same(&got, &want, 1e-11);
}

Test(spatial, applying_is_the_plain_product) {
    hf_mat6 k = {{{0.0}}};
    for (int i = 0; i < 6; i++)
        for (int j = 0; j < 6; j++)
            k.m[i][j] = 10 * i + j;
    hf_wrench w = hf_mat6_apply(&k, (hf_twist){{1, 2, 3}, {4, 5, 6}});
    expect_vec("force", w.force, hf_vec3_of(70, 280, 490));
    expect_vec("moment", w.moment, hf_vec3_of(700, 910, 1120));
}

/* The chain matrix (2 on the diagonal, -1 beside it) of size n has the inverse min(i,j) (n + 1 - max(i,j)) /
 * (n + 1). */
static hf_mat6 chain(void) {
    hf_mat6 k = {{{0.0}}};
    for (int i = 0; i < 6; i++)
        for (int j = 0; j < 6; j++)
            k.m[i][j] = i == j ? 2.0 : abs(i - j) == 1 ? -1.0 : 0.0;
    return k;
}

Test(spatial, inverse_of_the_chain_matrix) {
    hf_mat6 k = chain(), inverse;
    cr_assert(hf_mat6_inverse(&k, &inverse));
    for (int i = 1; i <= 6; i++)
        for (int j = 1; j <= 6; j++) {
            int low = i < j ? i : j, high = i < j ? j : i;
            EXPECT_NEAR(inverse.m[i - 1][j - 1], low * (7 - high) / 7.0, 1e-14);
        }
    hf_twist t;
    cr_assert(hf_mat6_solve(&k, (hf_wrench){{0, 0, 0}, {0, 0, 7}}, &t));
    expect_vec("shift", t.shift, hf_vec3_of(1, 2, 3));
    expect_vec("turn", t.turn, hf_vec3_of(4, 5, 6));
}

Test(spatial, what_does_not_hold_is_refused) {
    hf_mat6 k = chain(), inverse;
    hf_twist t;
    k.m[5][5] = 5.0 / 6.0; /* now the chain is exactly singular */
    cr_expect_not(hf_mat6_solve(&k, (hf_wrench){{1, 0, 0}, {0, 0, 0}}, &t));
    cr_expect_not(hf_mat6_inverse(&k, &inverse));
    k.m[5][5] = -1.0;
    cr_expect_not(hf_mat6_inverse(&k, &inverse));
    hf_mat6 five = {{{0.0}}}; /* five springs cannot hold six freedoms */
    for (size_t s = 0; s < 5; s++)
        add_spring(&five, springs[s].k, springs[s].n, springs[s].p);
    cr_expect_not(hf_mat6_inverse(&five, &inverse));
}
