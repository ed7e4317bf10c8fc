#include "num.h"

#include <float.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DIGITS_MAX 17

/* magnitude = 0.d1d2d3… x 10^point, without trailing zeros */
struct decimal {
    char digits[DIGITS_MAX + 1];
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

static void decimal_round(struct decimal *out, double magnitude, int digits) {
    char text[DIGITS_MAX + 16];
    snprintf(text, sizeof text, "%.*e", digits - 1, magnitude);
    decimal_read(out, text);
}

static void decimal_shortest(struct decimal *out, double magnitude) {
    char text[DIGITS_MAX + 16];
    /* 15 digits always survive the way through a normal double; a subnormal one holds fewer. */
    for (int digits = magnitude < DBL_MIN ? 1 : DBL_DIG; digits <= DIGITS_MAX; digits++) {
        snprintf(text, sizeof text, "%.*e", digits - 1, magnitude);
        if (strtod(text, NULL) == magnitude) break;
    }
    decimal_read(out, text);
}

static char *put(char *at, const char *bytes, int count) {
    memcpy(at, bytes, (size_t)count);
    return at + count;
}

static char *put_zeros(char *at, int count) {
    memset(at, '0', (size_t)count);
    return at + count;
}

/* ECMA-262, Number::toString: where the point goes and when an exponent is written. */
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
        at = put(at, "0.", 2);
        at = put_zeros(at, -d->point);
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

double hfd_num_round12(double value) {
    if (!isfinite(value)) return value;
    char text[HFD_NUM_MAX];
    snprintf(text, sizeof text, "%.11e", value);
    return strtod(text, NULL) + 0.0; /* -0 + 0 is 0 */
}
