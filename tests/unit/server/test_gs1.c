/* Scans of packages. Where not said otherwise grammar and check digits are those of GS1's syntax dictionary;
 * the reference year is 2026. */
#include "../../../server/base/gs1.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "../../../server/base/date.h"

static const char *day(bool has, int days) {
    static char text[2][HFD_DATE_TEXT];
    static int turn;
    char *out = text[turn = !turn];
    if (!has) return "";
    hfd_date_print(days, out);
    return out;
}

#define OR_NONE(text) ((text) != NULL ? (text) : "")

static const struct {
    const char *scan, *gtin, *made_on, *expires_on, *lot, *serial;
} good[] = {
    {"(01)09506000134352(17)280131(10)LOT42A(21)SN0007", "09506000134352", "", "2028-01-31", "LOT42A",
        "SN0007"},
    {"010950600013435217280131"
     "10LOT42A\x1d"
     "21SN0007",
        "09506000134352", "", "2028-01-31", "LOT42A", "SN0007"},
    {"]d2010950600013435217280131"
     "10LOT42A\u241d21SN0007",
        "09506000134352", "", "2028-01-31", "LOT42A", "SN0007"},
    {"]C1\x1d"
     "0109506000134352"
     "17280131"
     "10LOT42A",
        "09506000134352", "", "2028-01-31", "LOT42A", ""},
    /* barcodefaq.com/udi/gs1 */
    {"(01)51022222233336(11)141231(17)150707(10)A213B1(21)1234", "51022222233336", "2014-12-31", "2015-07-07",
        "A213B1", "1234"},
    /* almtech.com/gs1-udi-datamatrix-basics, twice */
    {"(01)67548320187766(10)567432", "67548320187766", "", "", "567432", ""},
    {"016754832018776610567432", "67548320187766", "", "", "567432", ""},
    /* Day 00 in a leap year; a year 50 before is a century later, one 51 ahead a century before. */
    {"01095060001343521728020010A", "09506000134352", "", "2028-02-29", "A", ""},
    {"01095060001343521727020010A", "09506000134352", "", "2027-02-28", "A", ""},
    {"(01)09506000134352(11)770101(17)760101", "09506000134352", "1977-01-01", "2076-01-01", "", ""},
    {"(01)09506000134352(10)A(B)1(21)(x)", "09506000134352", "", "", "A(B)1", "(x)"},
};

Test(gs1, reads_what_packages_say) {
    hf_arena arena;
    hf_arena_init(&arena, 4096, 0);
    for (size_t i = 0; i < sizeof good / sizeof *good; i++) {
        struct hfd_gs1 got;
        const char *fault = hfd_gs1_parse(good[i].scan, 2026, &arena, &got);
        cr_assert_null(fault, "%s: %s", good[i].scan, fault);
        cr_expect_str_eq(got.gtin, good[i].gtin);
        cr_expect_str_eq(day(got.has_made_on, got.made_on), good[i].made_on, "%s", good[i].scan);
        cr_expect_str_eq(day(got.has_expires_on, got.expires_on), good[i].expires_on, "%s", good[i].scan);
        cr_expect_str_eq(OR_NONE(got.lot), good[i].lot);
        cr_expect_str_eq(OR_NONE(got.serial), good[i].serial);
    }
    hf_arena_fini(&arena);
}

static const struct {
    const char *scan, *told;
} bad[] = {
    {"01095060001343521728133110A", "month"},
    {"01095060001343521728023010A", "day"},
    {"010950600013435317280131", "check digit"},
    {"01095060001343529912", "\"9912\""},
    {"(01)09506000134352(99)12", "length"}, /* the bracket is no identifier's here: the GTIN is too long */
    {"17280131", "GTIN"},
    {"", "GTIN"},
    {"0109506000134352"
     "10",
        "empty"},
    {"0109506000134352"
     "10ABCDEFGHIJKLMNOPQRSTU",
        "too long"},
    {"0109506000134352"
     "10A B",
        "character"},
    {"0109506000134352"
     "0109506000134352",
        "twice"},
    {"01095060001343", "length"},
    {"0109506000134352"
     "172801",
        "length"},
    {"0109506000134352"
     "1728O131",
        "character"},
    {"]d", "\"\" begins"},
};

Test(gs1, says_what_is_wrong) {
    hf_arena arena;
    hf_arena_init(&arena, 4096, 0);
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        struct hfd_gs1 got;
        const char *fault = hfd_gs1_parse(bad[i].scan, 2026, &arena, &got);
        cr_assert_not_null(fault, "%s", bad[i].scan);
        cr_expect_not_null(strstr(fault, bad[i].told), "%s: %s", bad[i].scan, fault);
    }
    hf_arena_fini(&arena);
}

static unsigned next_random(unsigned *state) {
    *state = *state * 1664525u + 1013904223u;
    return *state >> 16;
}

static void random_text(unsigned *state, char out[21]) {
    /* Without brackets, so that both forms mean the same. */
    static const char some[] = "ABCxyz0123456789-./_%&+";
    size_t length = 1 + next_random(state) % 20;
    for (size_t i = 0; i < length; i++)
        out[i] = some[next_random(state) % (sizeof some - 1)];
    out[length] = '\0';
}

/* Written in either form and read again, everything is what it was. */
Test(gs1, reads_back_what_was_written) {
    hf_arena arena;
    hf_arena_init(&arena, 4096, 0);
    unsigned state = 7;
    for (int turn = 0; turn < 5000; turn++) {
        char gtin[16], expires[HFD_DATE_TEXT], lot[21], serial[21], scan[128], yymmdd[7];
        int sum = 0;
        for (int i = 0; i < 13; i++) {
            gtin[i] = (char)('0' + next_random(&state) % 10);
            sum += (gtin[i] - '0') * (i % 2 ? 1 : 3);
        }
        gtin[13] = (char)('0' + (10 - sum % 10) % 10);
        gtin[14] = '\0';
        hfd_date_print((int)(12000 + next_random(&state) % 25000), expires); /* 2002 to 2071 */
        snprintf(yymmdd, sizeof yymmdd, "%.2s%.2s%.2s", expires + 2, expires + 5, expires + 8);
        random_text(&state, lot);
        random_text(&state, serial);
        bool brackets = turn % 2;
        snprintf(scan, sizeof scan,
            brackets ? "(01)%s(17)%s(10)%s(21)%s"
                     : "01%s17%s10%s\x1d"
                       "21%s",
            gtin, yymmdd, lot, serial);
        struct hfd_gs1 got;
        const char *fault = hfd_gs1_parse(scan, 2026, &arena, &got);
        cr_assert_null(fault, "%s: %s", scan, fault);
        cr_assert(got.piece_count == 4 && hfd_gs1_is_gtin(gtin));
        cr_assert_str_eq(got.gtin, gtin);
        cr_assert_str_eq(got.lot, lot);
        cr_assert_str_eq(got.serial, serial);
        cr_assert_str_eq(day(got.has_expires_on, got.expires_on), expires);
        hf_arena_reset(&arena);
    }
    hf_arena_fini(&arena);
}

Test(gs1, knows_a_gtin) {
    /* The check digit of the first is that of GS1's own example; the others drop its zeros or spoil it. */
    cr_expect(hfd_gs1_is_gtin("09506000134352") && hfd_gs1_is_gtin("9506000134352"));
    cr_expect(!hfd_gs1_is_gtin("09506000134353") && !hfd_gs1_is_gtin("506000134352") &&
              !hfd_gs1_is_gtin("0950600013435x"));
    cr_expect(!hfd_gs1_is_gtin("") && !hfd_gs1_is_gtin("352"));
}
