/* 3-vectors by value. Frame `occlusal-lps`: +x patient's left, +y posterior, +z superior; right-handed. */
#ifndef HF_VEC3_H
#define HF_VEC3_H

#include <math.h>
#include <stdbool.h>

typedef struct hf_vec3 {
    double x, y, z;
} hf_vec3;

static inline hf_vec3 hf_vec3_of(double x, double y, double z) {
    return (hf_vec3){x, y, z};
}
static inline hf_vec3 hf_vec3_absent(void) {
    return (hf_vec3){NAN, NAN, NAN};
}
static inline bool hf_vec3_is_given(hf_vec3 a) {
    return !isnan(a.x);
}
static inline hf_vec3 hf_add(hf_vec3 a, hf_vec3 b) {
    return (hf_vec3){a.x + b.x, a.y + b.y, a.z + b.z};
}
static inline hf_vec3 hf_sub(hf_vec3 a, hf_vec3 b) {
    return (hf_vec3){a.x - b.x, a.y - b.y, a.z - b.z};
}
static inline hf_vec3 hf_scale(hf_vec3 a, double k) {
    return (hf_vec3){a.x * k, a.y * k, a.z * k};
}
static inline hf_vec3 hf_add_scaled(hf_vec3 a, hf_vec3 b, double k) {
    return (hf_vec3){a.x + b.x * k, a.y + b.y * k, a.z + b.z * k};
}
static inline double hf_dot(hf_vec3 a, hf_vec3 b) {
    return a.x * b.x + a.y * b.y + a.z * b.z;
}
static inline hf_vec3 hf_cross(hf_vec3 a, hf_vec3 b) {
    return (hf_vec3){a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}
static inline double hf_norm(hf_vec3 a) {
    return sqrt(hf_dot(a, a));
}
/* The zero vector stays zero. */
static inline hf_vec3 hf_unit(hf_vec3 a) {
    double n = hf_norm(a);
    return n > 0.0 ? hf_scale(a, 1.0 / n) : a;
}
/* Part of `a` perpendicular to the unit vector `axis`. */
static inline hf_vec3 hf_perpendicular(hf_vec3 a, hf_vec3 axis) {
    return hf_add_scaled(a, axis, -hf_dot(a, axis));
}
static inline bool hf_is_finite(hf_vec3 a) {
    return isfinite(a.x) && isfinite(a.y) && isfinite(a.z);
}

#endif
