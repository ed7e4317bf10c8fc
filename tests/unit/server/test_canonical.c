#include <criterion/criterion.h>

#include <jansson.h>
#include <string.h>

#include "../../../server/json/canonical.h"
#include "../../../server/json/document.h"
#include "../../../server/json/parse.h"

static hf_arena arena;
static struct hfd_errors errors;

static void set_up(void) {
    hf_arena_init(&arena, 0, 0);
    hfd_errors_init(&errors, &arena);
}
static void tear_down(void) {
    hf_arena_fini(&arena);
}

TestSuite(canonical, .init = set_up, .fini = tear_down);

static const char *digest_of(const char *text) {
    hf_case out;
    const char *digest = NULL;
    cr_assert(hfd_document_decode(text, strlen(text), &arena, &errors, &out, &digest));
    return digest;
}

Test(canonical, digest_is_of_the_meaning) {
    const char *one = digest_of(
        "{\"frame\":\"occlusal-lps\",\"on\":\"2026-03-02\",\"patient\":{\"age_years\":34,\"cigarettes_per_day\":0}}");
    cr_expect_str_eq(one,
        digest_of(
            "{\"on\": \"2026-03-02\",\n \"patient\": {\"cigarettes_per_day\": 0.0, \"age_years\": 3.4e1},"
            "\t\"frame\" : \"occlusal-lps\"}"));
    cr_expect_str_eq(one,
        digest_of("{\"frame\":\"occlusal\\u002dlps\",\"on\":\"2026-03-02\",\"patient\":{\"age_years\":34.0,"
                  "\"cigarettes_per_day\":-0.0}}"));
    cr_expect_str_neq(
        one, digest_of("{\"frame\":\"occlusal-lps\",\"on\":\"2026-03-02\",\"patient\":{\"age_years\":35,"
                       "\"cigarettes_per_day\":0}}"));
    /* printf '{"frame":"occlusal-lps","on":"2026-03-02","patient":{"age_years":34,"cigarettes_per_day":0}}' |
     * sha256sum */
    cr_expect_str_eq(one, "sha256:cdc635656efd5fbae66232cac3948e0114bf0044b2976b8c2e4bf38216bfbf7e");
}

/* RFC 8785 §3.2.2 and §3.2.3: the input and output printed there (its names sort alike by bytes and by
 * UTF-16). */
Test(canonical, rfc_8785_sample) {
    json_t *json = json_loads(
        "{\"numbers\":[333333333.33333329,1E30,4.50,2e-3,0.000000000000000000000000001],"
        "\"string\":\"\\u20ac$\\u000F\\u000aA'\\u0042\\u0022\\u005c\\\\\\\"\\/\",\"literals\":[null,true,false]}",
        0, NULL);
    struct hfd_buf buf;
    hfd_buf_init(&buf, &arena, 16);
    hfd_canonical_write(&buf, json);
    json_decref(json);
    cr_expect_str_eq(buf.text,
        "{\"literals\":[null,true,false],\"numbers\":[333333333.3333333,1e+30,4.5,0.002,1e-27],"
        "\"string\":\"\xE2\x82\xAC$\\u000f\\nA'B\\\"\\\\\\\\\\\"/\"}");
}

static const char *again(const char *text) {
    const char *detail;
    json_t *json = hfd_json_parse(text, strlen(text), &arena, &detail);
    cr_assert_not_null(json, "%s: %s", text, detail);
    struct hfd_buf buf;
    hfd_buf_init(&buf, &arena, 16);
    hfd_canonical_write(&buf, json);
    json_decref(json);
    return buf.text;
}

/* RFC 8785 writes a number as ECMA-262 (Number::toString) does: up to 21 digits without an exponent, which is
 * beyond every whole number of 64 bits. What is written reads back as the same number. */
Test(canonical, what_is_written_is_taken_back) {
    static const char *const pairs[][2] = {{"1e20", "100000000000000000000"},
        {"-1e20", "-100000000000000000000"}, {"1e21", "1e+21"},
        {"999999999999999900000", "999999999999999900000"}, {"9223372036854775807", "9223372036854776000"},
        {"9223372036854775808", "9223372036854776000"},
        {"123456789012345678901234567890", "1.2345678901234568e+29"}, {"5e-324", "5e-324"},
        {"1.7976931348623157e308", "1.7976931348623157e+308"}, {"-0", "0"}, {"1e-7", "1e-7"},
        {"0.000001", "0.000001"}};
    for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++) {
        cr_expect_str_eq(again(pairs[i][0]), pairs[i][1]);
        cr_expect_str_eq(again(pairs[i][1]), pairs[i][1]);
    }
    const char *detail;
    static const char infinite[] = "[100000000000000000000,1e999]",
                      twice[] = "[100000000000000000000,{\"a\":1,\"a\":2}]";
    cr_expect_null(hfd_json_parse(infinite, sizeof infinite - 1, &arena, &detail));
    cr_expect_null(hfd_json_parse(twice, sizeof twice - 1, &arena, &detail));
}
