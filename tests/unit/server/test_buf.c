#include <criterion/criterion.h>

#include <string.h>

#include "../../../server/base/buf.h"
#include "../../../server/base/digest.h"

static hf_arena arena;

static void set_up(void) {
    hf_arena_init(&arena, 0, 0);
}
static void tear_down(void) {
    hf_arena_fini(&arena);
}

TestSuite(buf, .init = set_up, .fini = tear_down);

static const char *as_json(const char *text) {
    struct hfd_buf buf;
    hfd_buf_init(&buf, &arena, 1);
    hfd_buf_json_string(&buf, text);
    return buf.text;
}

Test(buf, grows_and_stays_ended) {
    struct hfd_buf buf;
    hfd_buf_init(&buf, &arena, 1);
    cr_assert_str_eq(buf.text, "");
    for (int i = 0; i < 10000; i++) {
        hfd_buf_printf(&buf, "%05d", i);
        hfd_buf_char(&buf, ',');
    }
    cr_assert_eq(buf.length, 60000);
    cr_assert_eq(strlen(buf.text), 60000);
    cr_assert_eq(strncmp(buf.text + 6 * 4321, "04321,", 6), 0);
    hfd_buf_cut(&buf, 6);
    cr_assert_str_eq(buf.text, "00000,");
}

Test(buf, one_long_piece_into_little_room) {
    char piece[5001];
    memset(piece, 'x', 5000);
    piece[5000] = '\0';
    struct hfd_buf buf;
    hfd_buf_init(&buf, &arena, 1);
    hfd_buf_printf(&buf, "%s", piece);
    hfd_buf_text(&buf, "y");
    cr_assert_eq(buf.length, 5001);
    cr_assert_str_eq(buf.text + 4999, "xy");
}

/* RFC 8259 §7: quotation mark, reverse solidus and the control characters must be escaped; the short forms
 * exist for five of them. Everything else may pass. */
Test(buf, escapes) {
    cr_expect_str_eq(as_json("plain"), "\"plain\"");
    cr_expect_str_eq(as_json(""), "\"\"");
    cr_expect_str_eq(as_json("a\"b\\c/d"), "\"a\\\"b\\\\c/d\"");
    cr_expect_str_eq(as_json("\b\f\n\r\t"), "\"\\b\\f\\n\\r\\t\"");
    cr_expect_str_eq(as_json("\x01\x1f\x7f"), "\"\\u0001\\u001f\x7f\"");
    cr_expect_str_eq(as_json(NULL), "null");
}

/* RFC 3629: well-formed sequences pass, the first and last of each length included; overlong forms,
 * surrogates, values above U+10FFFF and cut sequences do not. */
Test(buf, utf8) {
    static const char *const good[] = {"\xC2\x80", "\xDF\xBF", "\xE0\xA0\x80", "\xED\x9F\xBF", "\xEE\x80\x80",
        "\xEF\xBF\xBF", "\xF0\x90\x80\x80", "\xF4\x8F\xBF\xBF", "Z\xC3\xBCrich"};
    for (size_t i = 0; i < sizeof good / sizeof *good; i++) {
        const char *text = as_json(good[i]);
        cr_expect_eq(strlen(text), strlen(good[i]) + 2);
        cr_expect_eq(strncmp(text + 1, good[i], strlen(good[i])), 0);
    }
    cr_expect_str_eq(as_json("\xC0\x80"), "\"\xEF\xBF\xBD\xEF\xBF\xBD\"");
    cr_expect_str_eq(as_json("\xED\xA0\x80"), "\"\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\"");
    cr_expect_str_eq(as_json("\xF4\x90\x80\x80"), "\"\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\"");
    cr_expect_str_eq(as_json("a\xE2\x82"), "\"a\xEF\xBF\xBD\xEF\xBF\xBD\"");
    cr_expect_str_eq(as_json("\xFFz"), "\"\xEF\xBF\xBDz\"");
}

Test(buf, numbers) {
    struct hfd_buf buf;
    hfd_buf_init(&buf, &arena, 64);
    hfd_buf_json_real(&buf, 0.1 + 0.2);
    hfd_buf_char(&buf, ' ');
    hfd_buf_json_real12(&buf, 0.1 + 0.2);
    hfd_buf_char(&buf, ' ');
    hfd_buf_json_int(&buf, -9007199254740991);
    cr_assert_str_eq(buf.text, "0.30000000000000004 0.3 -9007199254740991");
}

/* FIPS 180-4 example values, as published by NIST. */
Test(buf, sha256) {
    char hex[HFD_DIGEST_HEX];
    hfd_digest_hex("abc", 3, hex);
    cr_assert_str_eq(hex, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    hfd_digest_hex("", 0, hex);
    cr_assert_str_eq(hex, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    hfd_digest_hex(NULL, 0, hex); /* a request without a body */
    cr_assert_str_eq(hex, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}

static const char *as_markup(const char *text) {
    struct hfd_buf buf;
    hfd_buf_init(&buf, &arena, 1);
    hfd_buf_markup(&buf, text);
    return buf.text;
}

/* The five characters that HTML and XML give a meaning to; what XML forbids or is no UTF-8 becomes U+FFFD. */
Test(buf, markup) {
    cr_expect_str_eq(as_markup("<a href='x' title=\"y\">&amp;"),
        "&lt;a href=&#39;x&#39; title=&quot;y&quot;&gt;&amp;amp;");
    cr_expect_str_eq(as_markup("a\tb\nc\rd"), "a\tb\nc\rd");
    cr_expect_str_eq(as_markup("\x01\x7F\xFF\xED\xA0\x80"),
        "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD");
    cr_expect_str_eq(as_markup("\xD7\xA9\xD7\x9C\xD7\x95\xD7\x9D \xF0\x9F\xA6\xB7"),
        "\xD7\xA9\xD7\x9C\xD7\x95\xD7\x9D \xF0\x9F\xA6\xB7");
    cr_expect_str_eq(as_markup(NULL), "");
}
