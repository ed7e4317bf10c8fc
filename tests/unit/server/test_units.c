#include <criterion/criterion.h>

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "../../../server/base/date.h"
#include "../../../server/json/units.h"

static double converted(double value, const char *from, const char *to) {
    return hfd_unit_convert(value, hfd_unit_find(from), hfd_unit_find(to));
}

static void expect(double value, const char *from, const char *to, double expected) {
    double got = converted(value, from, to);
    cr_expect(fabs(got - expected) <= 4e-16 * fabs(expected), "%g %s = %.17g %s, not %.17g", value, from, got,
        to, expected);
}

/* UCUM 2.1: g = 9.80665 m/s2 (exact), [in_i] = 2.54 cm, [lb_av] = 453.59237 g, [oz_av] = [lb_av]/16, so
 * [lbf_av] = 4.4482216152605 N exactly; the clinical lines are products of these with no rounding. */
Test(units, ucum_definitions) {
    expect(1, "gf", "N", 0.00980665);
    expect(100, "gf", "N", 0.980665);
    expect(150, "gf", "N", 1.4709975);
    expect(1, "kgf", "N", 9.80665);
    expect(1, "[lbf_av]", "N", 4.4482216152605);
    expect(16, "[oz_av].[g]", "N", 4.4482216152605);
    expect(4.5, "ozf", "N", 4.5 * 0.45359237 * 9.80665 / 16);
    expect(1, "[in_i]", "mm", 25.4);
    expect(1, "cm", "mm", 10);
    expect(1, "m", "um", 1e6);
    expect(300, "cN", "N", 3);
    expect(1, "N.cm", "N.mm", 10);
    expect(1, "N.m", "N.cm", 100);
    expect(1, "kgf.cm", "N.cm", 9.80665);
    expect(1.10, "kgf.cm", "N.cm", 10.787315);
    expect(800, "gf.mm", "N.mm", 7.84532);
    expect(1, "gf.cm", "N.mm", 0.0980665);
    expect(1, "GPa", "MPa", 1000);
    expect(1, "N/mm2", "kPa", 1000);
    expect(1, "rad", "deg", 57.29577951308232);
    expect(180, "deg", "rad", 3.141592653589793);
}

/* UCUM's grammar: "." multiplies, there is no "Ncm", "lbf", "[gf]" or "N*cm"; codes are case-sensitive. */
Test(units, no_ucum_codes) {
    static const char *const codes[] = {"Ncm", "lbf", "[gf]", "N*cm", "HU", "MM", "n", "Mpa", "g", "", " N"};
    for (size_t i = 0; i < sizeof codes / sizeof *codes; i++) {
        cr_expect_null(hfd_unit_find(codes[i]), "%s", codes[i]);
    }
}

/* The same value there and back, and each code found by itself. */
Test(units, table) {
    for (const struct hfd_unit *unit = hfd_units; unit->code; unit++) {
        cr_expect_eq(hfd_unit_find(unit->code), unit);
        cr_expect(unit->factor > 0 && unit->dimension < HFD_DIMENSION_COUNT);
        for (const struct hfd_unit *other = hfd_units; other->code; other++) {
            if (other->dimension != unit->dimension) continue;
            double back = hfd_unit_convert(hfd_unit_convert(7.3, unit, other), other, unit);
            cr_expect(fabs(back - 7.3) < 1e-14, "%s %s", unit->code, other->code);
        }
    }
}

Test(units, own_unit_is_the_end_of_the_name) {
    cr_expect_str_eq(hfd_unit_of_member("force_n")->code, "N");
    cr_expect_str_eq(hfd_unit_of_member("moment_nmm")->code, "N.mm");
    cr_expect_str_eq(hfd_unit_of_member("insertion_torque_ncm")->code, "N.cm");
    cr_expect_str_eq(hfd_unit_of_member("wire_in")->code, "[in_i]");
    cr_expect_str_eq(hfd_unit_of_member("tilt_deg")->code, "deg");
    cr_expect_str_eq(hfd_unit_of_member("modulus_mpa")->code, "MPa");
    cr_expect_null(hfd_unit_of_member("name"));
    cr_expect_null(hfd_unit_of_member("remaining_28d"));
    cr_expect_null(hfd_unit_of_member("age_years"));
}

/* Against the C library's calendar. */
Test(units, dates_against_gmtime) {
    for (int days = -25567; days <= 84370; days++) { /* 1900-01-01 … 2200-12-31 */
        time_t seconds = (time_t)days * 86400;
        struct tm tm;
        cr_assert_not_null(gmtime_r(&seconds, &tm));
        char expected[64], got[HFD_DATE_TEXT];
        snprintf(expected, sizeof expected, "%04d-%02d-%02d", tm.tm_year + 1900, tm.tm_mon + 1, tm.tm_mday);
        hfd_date_print(days, got);
        cr_assert_str_eq(got, expected);
        int back;
        cr_assert(hfd_date_parse(got, &back));
        cr_assert_eq(back, days);
    }
}

Test(units, no_dates) {
    static const char *const texts[] = {"", "2026", "2026-3-02", "2026-02-30", "2025-02-29", "1900-02-29",
        "2100-02-29", "2026-13-01", "2026-00-01", "2026-01-00", "2026-01-32", "2026-04-31", "1899-12-31",
        "2201-01-01", "2026-03-02 ", "2026-03-02T00:00", " 2026-03-02", "2026/03/02", "02-03-2026",
        "20260302"};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        int days;
        cr_expect_not(hfd_date_parse(texts[i], &days), "%s", texts[i]);
    }
    int leap;
    cr_expect(hfd_date_parse("2000-02-29", &leap));
    cr_expect(hfd_date_parse("2024-02-29", &leap));
}
