#include "num.h"

#include <float.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DIGITS_MAX 17

/* magnitude = 0.d1d2d3… x 10^point, without trailing zeros. Twice the room, so that put() may copy all of it
 * from any digit on. */
struct decimal {
    char digits[2 * DIGITS_MAX + 1];
    int count, point;
};

/* snprintf's "d.ddde±dd" taken apart; whatever stands for the decimal point is skipped. */
static void decimal_read(struct decimal *out, const char *text) {
    out->count = 0;
    const char *at = text;
    for (; *at != 'e'; at++)
        if (*at >= '0' && *at <= '9') out->digits[out->count++] = *at;
    out->point = (int)strtol(at + 1, NULL, 10) + 1;
    while (out->count > 1 && out->digits[out->count - 1] == '0')
        out->count--;
}

/* Powers of ten up to here are exact doubles, so that one product or quotient with them is rounded once. */
#define POWER_MAX 22
static const double powers[POWER_MAX + 1] = {1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
    1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};

/* number x 10^-scale, number a whole one below 10^15 */
static void decimal_whole(struct decimal *out, double number, int scale) {
    static const char pairs[] = "0001020304050607080910111213141516171819"
                                "2021222324252627282930313233343536373839"
                                "4041424344454647484950515253545556575859"
                                "6061626364656667686970717273747576777879"
                                "8081828384858687888990919293949596979899";
    char digits[16];
    const uint64_t whole = (uint64_t)number;
    unsigned halves[] = {(unsigned)(whole / 100000000), (unsigned)(whole % 100000000)};
    for (int half = 0; half < 2; half++) {
        for (int at = 8 * half + 6; at >= 8 * half; at -= 2, halves[half] /= 100)
            memcpy(digits + at, pairs + 2 * (halves[half] % 100), 2);
    }
    int first = 0, last = 16;
    while (digits[first] == '0')
        first++;
    while (digits[last - 1] == '0')
        last--;
    out->point = 16 - first - scale;
    out->count = last - first;
    memcpy(out->digits, digits + first, (size_t)(16 - first));
}

/* The usual case without the C library's exact arithmetic: 12 digits as a whole number, taken when it is
 * further from a tie than the rounding of the product can matter: below 10^12 that is 0.0001 at most. */
static bool decimal_round_fast(struct decimal *out, double magnitude, int digits) {
    uint64_t bits;
    memcpy(&bits, &magnitude, sizeof bits);
    /* Below 2^exponent; 78913 / 2^18 is the logarithm of 2. */
    int exponent = (int)(bits >> 52) - 1022, places = (exponent * 78913 + (1022 << 18)) / (1 << 18);
    int scale = digits - (places - 1022) - 1; /* may be one too small */
    for (int tries = 0; tries < 2; tries++, scale++) {
        if (scale > POWER_MAX || scale < -POWER_MAX) return false;
        double scaled = scale >= 0 ? magnitude * powers[scale] : magnitude / powers[-scale];
        if (scaled >= powers[digits]) return false;
        if (scaled < powers[digits - 1]) continue;
        double whole = (double)(long long)scaled, rest = scaled - whole;
        if (fabs(rest - 0.5) < 0.001) return false;
        if (rest > 0.5) whole += 1.0;
        if (whole >= powers[digits]) return false;
        decimal_whole(out, whole, scale);
        return true;
    }
    return false;
}

/* What people type: a whole number below 10^15 over a power of ten. The quotient of two exact doubles is
 * rounded as strtod would round the text, and no other text of 15 digits reads as the same double. */
static bool decimal_shortest_fast(struct decimal *out, double magnitude) {
    for (int scale = 0; scale <= DBL_DIG; scale++) {
        double whole = nearbyint(magnitude * powers[scale]);
        if (whole >= 1e15) return false;
        if (whole > 0.0 && whole / powers[scale] == magnitude) {
            decimal_whole(out, whole, scale);
            return true;
        }
    }
    return false;
}

static void decimal_round(struct decimal *out, double magnitude, int digits) {
    char text[DIGITS_MAX + 16];
    if (decimal_round_fast(out, magnitude, digits)) return;
    snprintf(text, sizeof text, "%.*e", digits - 1, magnitude);
    decimal_read(out, text);
}

static void decimal_shortest(struct decimal *out, double magnitude) {
    char text[DIGITS_MAX + 16];
    if (decimal_shortest_fast(out, magnitude)) return;
    /* 15 digits always survive the way through a normal double; a subnormal one holds fewer. */
    for (int digits = magnitude < DBL_MIN ? 1 : DBL_DIG; digits <= DIGITS_MAX; digits++) {
        snprintf(text, sizeof text, "%.*e", digits - 1, magnitude);
        if (strtod(text, NULL) == magnitude) break;
    }
    decimal_read(out, text);
}

/* Always DIGITS_MAX bytes, which is cheaper than to copy `count`: there is room in both. */
static char *put(char *at, const char *digits, int count) {
    memcpy(at, digits, DIGITS_MAX);
    return at + count;
}

static char *put_zeros(char *at, int count) {
    memset(at, '0', (size_t)count);
    return at + count;
}

/* ECMA-262, Number::toString: where the point goes and when an exponent is written. Longest before the last
 * put(): a sign, DIGITS_MAX - 1 digits and the point. */
static size_t decimal_print(char out[HFD_NUM_MAX], const struct decimal *d, int negative) {
    char *at = out;
    if (negative) *at++ = '-';
    if (d->count <= d->point && d->point <= 21) {
        at = put(at, d->digits, d->count);
        at = put_zeros(at, d->point - d->count);
    } else if (0 < d->point && d->point <= 21) {
        at = put(at, d->digits, d->point);
        *at++ = '.';
        at = put(at, d->digits + d->point, d->count - d->point);
    } else if (-6 < d->point && d->point <= 0) {
        memcpy(at, "0.", 2);
        at = put_zeros(at + 2, -d->point);
        at = put(at, d->digits, d->count);
    } else {
        *at++ = d->digits[0];
        if (d->count > 1) {
            *at++ = '.';
            at = put(at, d->digits + 1, d->count - 1);
        }
        at += snprintf(at, 8, "e%+d", d->point - 1);
    }
    *at = '\0';
    return (size_t)(at - out);
}

static size_t print(char out[HFD_NUM_MAX], double value, int digits) {
    if (!isfinite(value)) {
        memcpy(out, "null", sizeof "null");
        return 4;
    }
    if (value == 0.0) {
        memcpy(out, "0", sizeof "0");
        return 1;
    }
    struct decimal d;
    if (digits > 0)
        decimal_round(&d, fabs(value), digits);
    else
        decimal_shortest(&d, fabs(value));
    return decimal_print(out, &d, value < 0.0);
}

size_t hfd_num_print(char out[HFD_NUM_MAX], double value) {
    return print(out, value, 0);
}

size_t hfd_num_print12(char out[HFD_NUM_MAX], double value) {
    return print(out, value, 12);
}

bool hfd_num_nearest(uint64_t digits, int64_t exponent, double *value) {
    if (FLT_EVAL_METHOD != 0 || digits > UINT64_C(1) << DBL_MANT_DIG) return false;
    if (exponent < -POWER_MAX || exponent > POWER_MAX) return false;
    *value = exponent < 0 ? (double)digits / powers[-exponent] : (double)digits * powers[exponent];
    return true;
}
