#include <criterion/criterion.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../../../server/json/canonical.h"
#include "../../../server/json/parse.h"

static hf_arena arena;

static void set_up(void) {
    hf_arena_init(&arena, 0, 0);
}
static void tear_down(void) {
    hf_arena_fini(&arena);
}

TestSuite(parse, .init = set_up, .fini = tear_down);

static const char *malformed(const char *text) {
    const char *detail;
    json_t *json = hfd_json_parse(text, strlen(text), &arena, &detail);
    cr_expect_null(json, "%s", text);
    json_decref(json);
    return detail ? detail : "";
}

/* RFC 8259, and what is refused beyond it: a name twice, depth over 32. */
Test(parse, malformed) {
    static const struct {
        const char *text, *detail;
    } rows[] = {
        {"{\"a\":1,\n \"b\":2, \"a\":3}", "line 2, column 9: duplicate object key"},
        {"{\"\\u0061\":1,\"a\":3}", "line 1, column 13: duplicate object key"},
        {"{\"a\":1", "line 1, column 7: expected , or } behind a member"},
        {"[\"äöü\" 1]", "line 1, column 8: expected , or ] behind an item"},
        {"{\"a\" 1}", "line 1, column 6: expected : behind the name of a member"},
        {"{\"a\":1} x", "line 1, column 9: expected nothing behind the value"},
        {"[\"a\tb\"]", "line 1, column 4: a text may hold a control character as an escape only"},
        {"[\"a\\n\tb\"]", "line 1, column 6: a text may hold a control character as an escape only"},
        {"[\"\\ud83d\\u0041\"]", "line 1, column 3: one half of a surrogate pair"},
        {"[\"\\u12g4\"]", "line 1, column 3: \\u needs four hexadecimal digits"},
        {"[\"a\\n", "line 1, column 6: the text has no end"},
        {"[\"a\\", "line 1, column 5: the text has no end"},
        {"[1e999]", "line 1, column 2: too large a number"},
        {"[-]", "line 1, column 2: no number of JSON"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        cr_expect_str_eq(malformed(rows[i].text), rows[i].detail);
    static const char *const bad[] = {"\n", "[", "{", "[,]", "[1,]", "[1 2]", "{\"a\"}", "{1:2}", "{,}",
        "[tru]", "[truE]", "nul", "[1.]", "[-.5]", "[1e]", "[1e+]", "[0x1]", "[00]", "[-01]", "[\"\\x\"]",
        "[\"\xED\xA0\x80\"]", "[\"\xF4\x90\x80\x80\"]", "[\"\xFF\"]", "[\"\\udc00\"]", "[\"\\ud800\\ud800\"]",
        "\x0c[]", "[1]]", "--1", "[1,\n2", "", "{\"a\":NaN}", "{\"a\":1e999}", "{\"a\":01}", "{\"a\":.5}",
        "{\"a\":+1}", "{\"a\":\"\\u0000\"}", "{\"a\":\"\\ud800\"}", "{\"a\":\"\xC0\x80\"}", "\xEF\xBB\xBF{}",
        "{'a':1}", "{\"a\":1,}", "{\"a\":Infinity}"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        cr_expect(strncmp(malformed(bad[i]), "line ", 5) == 0, "%s", bad[i]);
}

static char *nested(int depth) {
    char *text = hf_arena_alloc(&arena, (size_t)depth * 2 + 1);
    memset(text, '[', (size_t)depth);
    memset(text + depth, ']', (size_t)depth);
    return text;
}

Test(parse, depth) {
    const char *detail;
    json_t *json = hfd_json_parse(nested(32), 64, &arena, &detail);
    cr_expect_not_null(json);
    json_decref(json);
    cr_expect_str_eq(malformed(nested(33)), "line 1, column 33: nested deeper than 32 levels");
    cr_expect_str_eq(malformed(nested(100000)), "line 1, column 33: nested deeper than 32 levels");
    /* brackets inside a text are no depth */
    static const char flat[] = "[\"[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[\\\"[\"]";
    json = hfd_json_parse(flat, sizeof flat - 1, &arena, &detail);
    cr_expect_not_null(json, "%s", detail);
    json_decref(json);
}

/* ---------------------------------------------------------------- well-formed */

static json_t *parsed(const char *text) {
    const char *detail;
    json_t *json = hfd_json_parse(text, strlen(text), &arena, &detail);
    cr_assert_not_null(json, "%s: %s", text, detail);
    cr_expect_null(detail);
    return json;
}

/* RFC 8259 §7: every escape, and what it stands for in UTF-8 (RFC 3629). */
Test(parse, escapes) {
    static const struct {
        const char *text, *value;
    } rows[] = {
        {"\"\"", ""},
        {"\"plain\"", "plain"},
        {"\"\\\"\\\\\\/\\b\\f\\n\\r\\t\"", "\"\\/\b\f\n\r\t"},
        {"\"a\\u0041\\u00e4\\u20AC\\uD83D\\ude00z\"", "aA\xC3\xA4\xE2\x82\xAC\xF0\x9F\x98\x80z"},
        {"\"\\u007f\\u0080\\u07ff\\u0800\\uffff\"", "\x7F\xC2\x80\xDF\xBF\xE0\xA0\x80\xEF\xBF\xBF"},
        {"\"\\udbff\\udfff\"", "\xF4\x8F\xBF\xBF"},
        {"\"\xC3\xA4\\n\xF0\x9F\x98\x80\"", "\xC3\xA4\n\xF0\x9F\x98\x80"},
        {"\"\\\\\"", "\\"},
        {"\"\\\\u0041\"", "\\u0041"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        cr_expect_str_eq(json_string_value(parsed(rows[i].text)), rows[i].value, "%s", rows[i].text);
}

Test(parse, values) {
    json_t *json = parsed(" {\t\"a\" : [ true,false ,null , {} , [ ] , \"x\" ] ,\r\n\"\\u00e4\":-0 }\n");
    json_t *list = json_object_get(json, "a");
    cr_expect_eq(json_object_size(json), 2);
    cr_assert_eq(json_array_size(list), 6);
    cr_expect(json_is_true(json_array_get(list, 0)));
    cr_expect(json_is_false(json_array_get(list, 1)));
    cr_expect(json_is_null(json_array_get(list, 2)));
    cr_expect(json_is_object(json_array_get(list, 3)));
    cr_expect(json_is_array(json_array_get(list, 4)));
    cr_expect_str_eq(json_string_value(json_array_get(list, 5)), "x");
    cr_expect_eq(json_number_value(json_object_get(json, "\xC3\xA4")), 0);
    cr_expect(json_is_string(parsed("\"alone\"")));
}

/* Nothing is read behind the length that was given. */
Test(parse, length) {
    static const struct {
        const char *text;
        size_t length;
    } rows[] = {
        {"true", 3}, {"\"ab\"", 3}, {"\"a\\n\"", 4}, {"\"\\u0041\"", 6}, {"[1]", 2}, {"1.5", 2}, {"{}", 1}};
    const char *detail;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        cr_expect_null(hfd_json_parse(rows[i].text, rows[i].length, &arena, &detail), "%s", rows[i].text);
    cr_expect_null(hfd_json_parse("[1\0,2]", 6, &arena, &detail));
    cr_expect_eq(json_number_value(hfd_json_parse("12345", 2, &arena, &detail)), 12);
    cr_expect_float_eq(
        json_number_value(hfd_json_parse("1.2345678901234567890123", 4, &arena, &detail)), 1.23, 0);
}

/* ---------------------------------------------------------------- numbers: the C library's strtod() */

static void same_as_strtod(const char *text) {
    double expected = strtod(text, NULL), got = json_number_value(parsed(text));
    cr_expect(memcmp(&expected, &got, sizeof got) == 0 || (expected == 0 && got == 0), "%s: %.17g, got %.17g",
        text, expected, got);
}

Test(parse, numbers) {
    static const char *const rows[] = {"0", "-0", "0.0", "-0.0", "1", "-1", "0.1", "0.3", "1e22", "1e23",
        "1e-22", "1e-23", "9007199254740992", "9007199254740993", "9007199254740993.0", "9007199254740991e22",
        "123456789012345678", "1234567890123456789", "18446744073709551616", "99999999999999999999999",
        "1e20", "1E+20", "1e308", "4.9e-324", "1e-400", "0e999999999999", "2.2250738585072011e-308",
        "1.7976931348623157e308", "0.000000000000000000000000001", "8.5e-3", "5e-1",
        "179769313486231570000000000000000000000", "0.30000000000000004", "100.000000000000000000000"};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        same_as_strtod(rows[i]);
}

Test(parse, random_numbers) {
    unsigned long long state = 88172645463325252ULL; /* xorshift64 */
    char text[64];
    for (int i = 0; i < 200000; i++) {
        state ^= state << 13, state ^= state >> 7, state ^= state << 17;
        const double scale = pow(10, (double)(state % 61) - 30);
        const double value = (double)(long long)(state >> (state % 50)) * scale;
        snprintf(text, sizeof text, i % 2 ? "%.*g" : "%.*e", (int)(state >> 58) % 19 + 1, value);
        same_as_strtod(text);
        hf_arena_reset(&arena);
    }
}
