#include "spatial.h"

typedef struct mat3 {
    double m[3][3];
} mat3;

static mat3 block(const hf_mat6 *k, int row, int column) {
    mat3 b;
    for (int i = 0; i < 3; i++) {
        for (int j = 0; j < 3; j++) {
            b.m[i][j] = k->m[row + i][column + j];
        }
    }
    return b;
}

/* A symmetric 6x6 from its force-shift, force-turn and moment-turn blocks. The last is evened out, so that
 * rounding leaves an exactly symmetric matrix. */
static hf_mat6 joined(const mat3 *a, const mat3 *b, const mat3 *d) {
    hf_mat6 k;
    for (int i = 0; i < 3; i++) {
        for (int j = 0; j < 3; j++) {
            k.m[i][j] = 0.5 * (a->m[i][j] + a->m[j][i]);
            k.m[i][3 + j] = b->m[i][j];
            k.m[3 + j][i] = b->m[i][j];
            k.m[3 + i][3 + j] = 0.5 * (d->m[i][j] + d->m[j][i]);
        }
    }
    return k;
}

static mat3 product(const mat3 *a, const mat3 *b) {
    mat3 c;
    for (int i = 0; i < 3; i++) {
        for (int j = 0; j < 3; j++) {
            c.m[i][j] = a->m[i][0] * b->m[0][j] + a->m[i][1] * b->m[1][j] + a->m[i][2] * b->m[2][j];
        }
    }
    return c;
}

static mat3 transposed(const mat3 *a) {
    mat3 t;
    for (int i = 0; i < 3; i++) {
        for (int j = 0; j < 3; j++) {
            t.m[i][j] = a->m[j][i];
        }
    }
    return t;
}

static mat3 sum(const mat3 *a, const mat3 *b) {
    mat3 c;
    for (int i = 0; i < 3; i++) {
        for (int j = 0; j < 3; j++) {
            c.m[i][j] = a->m[i][j] + b->m[i][j];
        }
    }
    return c;
}

hf_wrench hf_wrench_add(hf_wrench a, hf_wrench b) {
    return (hf_wrench){hf_add(a.force, b.force), hf_add(a.moment, b.moment)};
}

hf_wrench hf_wrench_move(hf_wrench w, hf_vec3 from, hf_vec3 to) {
    return (hf_wrench){w.force, hf_add(w.moment, hf_cross(hf_sub(from, to), w.force))};
}

hf_twist hf_twist_move(hf_twist t, hf_vec3 from, hf_vec3 to) {
    return (hf_twist){hf_add(t.shift, hf_cross(t.turn, hf_sub(to, from))), t.turn};
}

hf_mat6 hf_mat6_add(const hf_mat6 *a, const hf_mat6 *b) {
    hf_mat6 c;
    for (int i = 0; i < 6; i++) {
        for (int j = 0; j < 6; j++) {
            c.m[i][j] = a->m[i][j] + b->m[i][j];
        }
    }
    return c;
}

/* With d = from - to a movement told at `to` shifts `from` by u + S turn, S turn = turn x d. Hence
 * B' = B + A S and D' = D + S^T B' + B^T S. */
hf_mat6 hf_mat6_move(const hf_mat6 *k, hf_vec3 from, hf_vec3 to) {
    hf_vec3 d = hf_sub(from, to);
    mat3 s = {{{0.0, d.z, -d.y}, {-d.z, 0.0, d.x}, {d.y, -d.x, 0.0}}};
    mat3 st = transposed(&s);
    mat3 a = block(k, 0, 0), b = block(k, 0, 3), turn = block(k, 3, 3);
    mat3 as = product(&a, &s), bt = transposed(&b);
    mat3 moved = sum(&b, &as);
    mat3 left = product(&st, &moved), right = product(&bt, &s);
    turn = sum(&turn, &left);
    turn = sum(&turn, &right);
    return joined(&a, &moved, &turn);
}

/* Turns and moments are pseudo-vectors: seen through left-handed axes they change sign, so the blocks that
 * couple them with shifts and forces do, and the others do not. */
hf_mat6 hf_mat6_to_global(const hf_mat6 *k, const hf_axes *axes) {
    mat3 r = {{{axes->x.x, axes->y.x, axes->z.x}, {axes->x.y, axes->y.y, axes->z.y},
        {axes->x.z, axes->y.z, axes->z.z}}};
    mat3 rt = transposed(&r);
    double hand = hf_dot(hf_cross(axes->x, axes->y), axes->z) < 0.0 ? -1.0 : 1.0;
    mat3 turned[3];
    for (int i = 0; i < 3; i++) {
        mat3 local = block(k, i == 2 ? 3 : 0, i == 0 ? 0 : 3);
        mat3 half = product(&r, &local);
        turned[i] = product(&half, &rt);
    }
    for (int i = 0; i < 9; i++) {
        turned[1].m[i / 3][i % 3] *= hand;
    }
    return joined(&turned[0], &turned[1], &turned[2]);
}

hf_wrench hf_mat6_apply(const hf_mat6 *k, hf_twist t) {
    const double u[6] = {t.shift.x, t.shift.y, t.shift.z, t.turn.x, t.turn.y, t.turn.z};
    double w[6];
    for (int i = 0; i < 6; i++) {
        w[i] = 0.0;
        for (int j = 0; j < 6; j++) {
            w[i] += k->m[i][j] * u[j];
        }
    }
    return (hf_wrench){{w[0], w[1], w[2]}, {w[3], w[4], w[5]}};
}

/* Cholesky factor in the lower triangle. A pivot that has lost all its digits counts as zero. */
static bool factor(const hf_mat6 *k, hf_mat6 *l) {
    for (int j = 0; j < 6; j++) {
        double pivot = k->m[j][j];
        for (int p = 0; p < j; p++) {
            pivot -= l->m[j][p] * l->m[j][p];
        }
        if (!(pivot > 1e-14 * k->m[j][j])) return false;
        l->m[j][j] = sqrt(pivot);
        for (int i = j + 1; i < 6; i++) {
            double rest = k->m[i][j];
            for (int p = 0; p < j; p++) {
                rest -= l->m[i][p] * l->m[j][p];
            }
            l->m[i][j] = rest / l->m[j][j];
        }
    }
    return true;
}

static void substitute(const hf_mat6 *l, double x[6]) {
    for (int i = 0; i < 6; i++) {
        for (int p = 0; p < i; p++) {
            x[i] -= l->m[i][p] * x[p];
        }
        x[i] /= l->m[i][i];
    }
    for (int i = 5; i >= 0; i--) {
        for (int p = i + 1; p < 6; p++) {
            x[i] -= l->m[p][i] * x[p];
        }
        x[i] /= l->m[i][i];
    }
}

bool hf_mat6_solve(const hf_mat6 *k, hf_wrench w, hf_twist *out) {
    hf_mat6 l;
    if (!factor(k, &l)) return false;
    double x[6] = {w.force.x, w.force.y, w.force.z, w.moment.x, w.moment.y, w.moment.z};
    substitute(&l, x);
    *out = (hf_twist){{x[0], x[1], x[2]}, {x[3], x[4], x[5]}};
    return true;
}

bool hf_mat6_inverse(const hf_mat6 *k, hf_mat6 *out) {
    hf_mat6 l;
    if (!factor(k, &l)) return false;
    for (int j = 0; j < 6; j++) {
        double x[6] = {0.0};
        x[j] = 1.0;
        substitute(&l, x);
        for (int i = 0; i < 6; i++) {
            out->m[i][j] = x[i];
        }
    }
    for (int i = 0; i < 6; i++) {
        for (int j = 0; j < i; j++) {
            out->m[i][j] = out->m[j][i] = 0.5 * (out->m[i][j] + out->m[j][i]);
        }
    }
    return true;
}
