/* Six-dimensional mechanics at a point: wrench = force (N) + moment (N mm), twist = shift (mm) + turn (rad),
 * and the symmetric 6x6 stiffness between them, order [x y z rx ry rz].
 * Stiffness units: N/mm, N/rad, N mm/rad. All axes global unless a function says otherwise. */
#ifndef HF_SPATIAL_H
#define HF_SPATIAL_H

#include "vec3.h"

typedef struct hf_wrench {
    hf_vec3 force, moment;
} hf_wrench;

typedef struct hf_twist {
    hf_vec3 shift, turn;
} hf_twist;

typedef struct hf_mat6 {
    double m[6][6];
} hf_mat6;

/* Orthonormal axes as three unit vectors; may be left-handed (upper left and lower right teeth are). */
typedef struct hf_axes {
    hf_vec3 x, y, z;
} hf_axes;

hf_wrench hf_wrench_add(hf_wrench a, hf_wrench b);
/* The same load told at another point: moment' = moment + (from - to) x force. */
hf_wrench hf_wrench_move(hf_wrench w, hf_vec3 from, hf_vec3 to);
/* The rigid movement seen at another point: shift' = shift + turn x (to - from). */
hf_twist hf_twist_move(hf_twist t, hf_vec3 from, hf_vec3 to);
hf_mat6 hf_mat6_add(const hf_mat6 *a, const hf_mat6 *b);
/* Stiffness of the same support, told at `to` instead of `from`. */
hf_mat6 hf_mat6_move(const hf_mat6 *k, hf_vec3 from, hf_vec3 to);
/* Local stiffness (right- or left-handed axes) in global axes. */
hf_mat6 hf_mat6_to_global(const hf_mat6 *k, const hf_axes *axes);
hf_wrench hf_mat6_apply(const hf_mat6 *k, hf_twist t);
/* Solves k t = w for a symmetric positive definite k. False when k is not positive definite. */
bool hf_mat6_solve(const hf_mat6 *k, hf_wrench w, hf_twist *out);
bool hf_mat6_inverse(const hf_mat6 *k, hf_mat6 *out);

#endif
