#include <criterion/criterion.h>

#include <float.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../../../server/base/num.h"

static double from_bits(uint64_t bits) {
    double value;
    memcpy(&value, &bits, sizeof value);
    return value;
}

static uint64_t to_bits(double value) {
    uint64_t bits;
    memcpy(&bits, &value, sizeof bits);
    return bits;
}

static const char *printed(double value) {
    static char text[HFD_NUM_MAX];
    size_t length = hfd_num_print(text, value);
    cr_assert_eq(length, strlen(text));
    return text;
}

/* RFC 8785, appendix B: IEEE 754 bits and the JSON text. */
Test(num, rfc_8785_samples) {
    static const struct {
        uint64_t bits;
        const char *text;
    } rows[] = {
        {0x0000000000000000, "0"},
        {0x8000000000000000, "0"},
        {0x0000000000000001, "5e-324"},
        {0x8000000000000001, "-5e-324"},
        {0x7fefffffffffffff, "1.7976931348623157e+308"},
        {0xffefffffffffffff, "-1.7976931348623157e+308"},
        {0x4340000000000000, "9007199254740992"},
        {0xc340000000000000, "-9007199254740992"},
        {0x4430000000000000, "295147905179352830000"},
        {0x44b52d02c7e14af5, "9.999999999999997e+22"},
        {0x44b52d02c7e14af6, "1e+23"},
        {0x44b52d02c7e14af7, "1.0000000000000001e+23"},
        {0x444b1ae4d6e2ef4e, "999999999999999700000"},
        {0x444b1ae4d6e2ef4f, "999999999999999900000"},
        {0x444b1ae4d6e2ef50, "1e+21"},
        {0x3eb0c6f7a0b5ed8c, "9.999999999999997e-7"},
        {0x3eb0c6f7a0b5ed8d, "0.000001"},
        {0x41b3de4355555553, "333333333.3333332"},
        {0x41b3de4355555554, "333333333.33333325"},
        {0x41b3de4355555555, "333333333.3333333"},
        {0x41b3de4355555556, "333333333.3333334"},
        {0x41b3de4355555557, "333333333.33333343"},
        {0xbecbf647612f3696, "-0.0000033333333333333333"},
        {0x43143ff3c1cb0959, "1424953923781206.2"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        cr_expect_str_eq(printed(from_bits(rows[i].bits)), rows[i].text);
}

/* What people type comes back as typed. */
Test(num, everyday_values) {
    static const char *const texts[] = {"0.1", "7.6", "0.3333333333333333", "2", "-12.5", "100000", "1e-7",
        "0.00012", "123456789012345", "-0.017", "1.4709975"};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
        cr_expect_str_eq(printed(strtod(texts[i], NULL)), texts[i]);
}

static uint64_t next_random(uint64_t *state) {
    *state ^= *state << 13;
    *state ^= *state >> 7;
    *state ^= *state << 17;
    return *state;
}

static size_t significant_digits(const char *text) {
    size_t count = 0, zeros = 0;
    for (; *text && *text != 'e'; text++) {
        if (*text < '0' || *text > '9') continue;
        if (*text == '0')
            zeros += count > 0;
        else
            count += zeros + 1, zeros = 0;
    }
    return count;
}

/* Any bits: strtod reads the same bits, in no more digits than %.17g needs, and within the stated room. */
Test(num, reads_back_the_same_bits) {
    uint64_t state = 20260302;
    for (int i = 0; i < 200000; i++) {
        double value = from_bits(next_random(&state));
        if (!isfinite(value)) continue;
        const char *text = printed(value);
        cr_assert_eq(to_bits(strtod(text, NULL)), to_bits(value), "%s", text);
        cr_assert(strlen(text) < HFD_NUM_MAX);
        char longest[40];
        snprintf(longest, sizeof longest, "%.17g", value);
        cr_assert(significant_digits(text) <= significant_digits(longest), "%s against %s", text, longest);
    }
}

/* Values of the size that the service answers with. */
Test(num, reads_back_in_the_everyday_range) {
    uint64_t state = 7;
    for (int i = 0; i < 200000; i++) {
        double value = ((double)(next_random(&state) >> 11) / 9007199254740992.0 - 0.5) * 200.0;
        cr_assert_eq(to_bits(strtod(printed(value), NULL)), to_bits(value));
    }
}

static const char *printed12(double value) {
    static char text[HFD_NUM_MAX];
    cr_assert_eq(hfd_num_print12(text, value), strlen(text));
    return text;
}

Test(num, rounds_to_twelve_digits) {
    cr_expect_str_eq(printed12(1.0 / 3.0), "0.333333333333");
    cr_expect_str_eq(printed12(2.0 / 3.0), "0.666666666667");
    cr_expect_str_eq(printed12(123456.7890126), "123456.789013");
    cr_expect_str_eq(printed12(0.1 + 0.2), "0.3");
    cr_expect_str_eq(printed12(-9.99999999999951), "-10");
    cr_expect_str_eq(printed12(-0.0), "0");
    cr_expect_str_eq(printed12(4.0), "4");
    cr_expect_str_eq(printed12(NAN), "null");
    cr_expect_str_eq(printed12(INFINITY), "null");
}

/* Printing at 12 digits is printing what the C library rounds to 12 digits, whatever the size. */
Test(num, print12_is_print_of_the_rounded_value) {
    uint64_t state = 99;
    for (int i = 0; i < 100000; i++) {
        double value = from_bits(next_random(&state));
        if (!isfinite(value) || fabs(value) < DBL_MIN || fabs(value) > 1e300) continue;
        char rounded[40];
        snprintf(rounded, sizeof rounded, "%.11e", value);
        cr_assert_str_eq(printed12(value), printed(strtod(rounded, NULL)));
    }
}

/* The same against the C library's exact decimal conversion, over the sizes of the service's answers and
 * around ties. */
Test(num, print12_against_printf) {
    uint64_t state = 5;
    for (int i = 0; i < 300000; i++) {
        uint64_t bits = next_random(&state);
        double value = (double)(int64_t)(bits >> 20) / 1048576.0 * pow(10.0, (int)(bits % 30) - 20);
        if (i % 3 == 0) value = ((double)(bits % 1000000000000) + 0.5) / pow(10.0, (int)(bits % 15));
        if (i % 3 == 1) value = (double)(bits % 100000) / 100.0;
        char text[HFD_NUM_MAX], expected[40];
        hfd_num_print12(text, value);
        snprintf(expected, sizeof expected, "%.11e", value);
        cr_assert_eq(
            to_bits(strtod(text, NULL)), to_bits(strtod(expected, NULL)), "%s against %s", text, expected);
        cr_assert(significant_digits(text) <= 12);
    }
}

/* Just below a power of ten, where one digit less would round up to it. */
Test(num, print12_below_a_power_of_ten) {
    for (int power = -12; power <= 12; power++) {
        for (int part = 1; part < 4000; part++) {
            const double value = pow(10, power) * (1.0 - part * 2.5e-14);
            char text[HFD_NUM_MAX], expected[64];
            hfd_num_print12(text, value);
            snprintf(expected, sizeof expected, "%.11e", value);
            cr_assert_eq(
                strtod(text, NULL), strtod(expected, NULL), "%.17g: %s, printf: %s", value, text, expected);
        }
    }
}

Test(num, not_finite_is_null) {
    cr_expect_str_eq(printed(NAN), "null");
    cr_expect_str_eq(printed(-INFINITY), "null");
}
