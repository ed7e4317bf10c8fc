#include <criterion/criterion.h>
#include <string.h>

#include "../../../server/base/log.h"

static size_t line_of(char *text, size_t size, const struct hfd_log_field *fields, size_t count) {
    return hfd_log_line(text, size, 482196050520, HFD_LOG_WARNING, "tested", fields, count);
}

/* The form of a line is our own contract: one object, time by RFC 3339 first. */
Test(log, a_line) {
    char text[512];
    const struct hfd_log_field fields[] = {HFD_LOG_TEXT("request_id", "abc"), HFD_LOG_TEXT("left_out", NULL),
        HFD_LOG_NUMBER("status", 404), HFD_LOG_NUMBER("change", -5), HFD_LOG_MS("ms", 12345678)};
    size_t length = line_of(text, sizeof text, fields, 5);
    cr_assert_str_eq(text,
        "{\"time\":\"1985-04-12T23:20:50.520Z\",\"level\":\"warning\",\"event\":\"tested\","
        "\"request_id\":\"abc\",\"status\":404,\"change\":-5,\"ms\":12.346}\n");
    cr_assert_eq(length, strlen(text));
}

/* RFC 8259 §7: what must be escaped in a string; and nothing may end the line early. */
Test(log, text_cannot_leave_its_string) {
    char text[512];
    const struct hfd_log_field field = HFD_LOG_TEXT("t", "a\"b\\c\nd\x01\x7f\xc3\xbc\xff!");
    line_of(text, sizeof text, &field, 1);
    cr_assert(strstr(text, "\"t\":\"a\\u0022b\\u005cc\\u000ad\\u0001\\u007f\xc3\xbc?!\"}\n"), "%s", text);
    cr_assert_eq(strchr(text, '\n'), text + strlen(text) - 1);
}

/* Whatever the length, the object is closed and no escape or character is cut in two. */
Test(log, long_texts_are_cut_inside_the_object) {
    char content[91] = "";
    for (size_t i = 0; i < 30; i++) {
        memcpy(content + 3 * i, "\xc3\xbc\n", 3);
    }
    const struct hfd_log_field fields[] = {
        HFD_LOG_TEXT("t", content), HFD_LOG_NUMBER("n", 7), HFD_LOG_TEXT("u", content)};
    for (size_t size = 120; size < 500; size++) {
        char text[512];
        memset(text, '#', sizeof text);
        size_t length = line_of(text, size, fields, 3);
        cr_assert_lt(length, size);
        cr_assert_eq(text[length], '\0');
        cr_assert_str_eq(text + length - 2, "}\n");
        cr_assert_eq(text[size], '#', "beyond the end at %zu", size);
        size_t quotes = 0;
        for (size_t i = 0; i < length; i++) {
            if (text[i] == '"') quotes++;
            if (text[i] == '\\')
                cr_assert(i + 6 < length && strncmp(text + i, "\\u000a", 6) == 0, "%s", text);
            if (text[i] == '\xc3') cr_assert_eq(text[i + 1], '\xbc');
        }
        cr_assert_eq(quotes % 2, 0, "%s", text);
    }
}
