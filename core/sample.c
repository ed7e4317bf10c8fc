#include "sample.h"

#include <math.h>
#include <stdlib.h>

/* The finalizer of SplitMix64 (Steele, Lea, Flood, OOPSLA 2014): every bit of the result hangs on every bit.
 */
static uint64_t mix(uint64_t x) {
    x = (x ^ (x >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    x = (x ^ (x >> 27)) * UINT64_C(0x94d049bb133111eb);
    return x ^ (x >> 31);
}

double hf_draw_uniform(uint64_t seed, uint64_t sample, uint64_t input) {
    const uint64_t step = UINT64_C(0x9e3779b97f4a7c15); /* 2^64 by the golden ratio */
    uint64_t x = mix(mix(mix(seed * step + step) + sample * step + step) + input * step + step);
    return ((double)(x >> 11) + 0.5) * 0x1p-53;
}

double hf_draw_normal(uint64_t seed, uint64_t sample, uint64_t input) {
    return hf_normal_quantile(hf_draw_uniform(seed, sample, input));
}

/* One rational function: coefficients from the constant upwards, numerator then denominator. */
static double ratio(const double c[2][8], double x) {
    double above = 0.0, below = 0.0;
    for (int i = 8; i-- > 0;) {
        above = above * x + c[0][i];
        below = below * x + c[1][i];
    }
    return above / below;
}

double hf_normal_quantile(double p) {
    static const double middle[2][8] = {
        {3.387132872796366608, 133.14166789178437745, 1971.5909503065514427, 13731.693765509461125,
            45921.953931549871457, 67265.770927008700853, 33430.575583588128105, 2509.0809287301226727},
        {1.0, 42.313330701600911252, 687.1870074920579083, 5394.1960214247511077, 21213.794301586595867,
            39307.89580009271061, 28729.085735721942674, 5226.495278852545925}};
    static const double side[2][8] = {
        {1.42343711074968357734, 4.6303378461565452959, 5.7694972214606914055, 3.64784832476320460504,
            1.27045825245236838258, 0.24178072517745061177, 0.0227238449892691845833,
            7.7454501427834140764e-4},
        {1.0, 2.05319162663775882187, 1.6763848301838038494, 0.68976733498510000455, 0.14810397642748007459,
            0.0151986665636164571966, 5.475938084995344946e-4, 1.05075007164441684324e-9}};
    static const double tail[2][8] = {
        {6.6579046435011037772, 5.4637849111641143699, 1.7848265399172913358, 0.29656057182850489123,
            0.026532189526576123093, 0.0012426609473880784386, 2.71155556874348757815e-5,
            2.01033439929228813265e-7},
        {1.0, 0.59983220655588793769, 0.13692988092273580531, 0.0148753612908506148525,
            7.868691311456132591e-4, 1.8463183175100546818e-5, 1.4215117583164458887e-7,
            2.04426310338993978564e-15}};
    double q = p - 0.5;
    if (fabs(q) <= 0.425) return q * ratio(middle, 0.180625 - q * q);
    double r = sqrt(-log(fmin(p, 1.0 - p)));
    return copysign(r <= 5.0 ? ratio(side, r - 1.6) : ratio(tail, r - 5.0), q);
}

static int by_size(const void *a, const void *b) {
    double one = *(const double *)a, other = *(const double *)b;
    return (one > other) - (one < other);
}

static double quantile(const double *sorted, size_t count, double share) {
    double place = share * (double)(count - 1);
    size_t below = (size_t)place;
    if (below + 1 >= count) return sorted[count - 1];
    return sorted[below] + (place - (double)below) * (sorted[below + 1] - sorted[below]);
}

hf_range hf_sample_range(double *values, size_t count) {
    if (count == 0) return (hf_range){NAN, NAN, NAN};
    qsort(values, count, sizeof *values, by_size);
    return (hf_range){
        quantile(values, count, 0.05), quantile(values, count, 0.5), quantile(values, count, 0.95)};
}
