#include "../../../server/base/origin.h"

#include <criterion/criterion.h>

/* Serialisations of RFC 6454 §6.2 as browsers send them. */
Test(origin, lists) {
    static const char *const good[] = {"", "  ", "https://example.com",
        "http://localhost:5173 https://a.b-c.example", " http://127.0.0.1:8080  http://[::1]:3000 ",
        "https://[2001:db8::1]"};
    static const char *const bad[] = {"*", "null", "example.com", "https://", "https://example.com/",
        "https://example.com:", "https://example.com:123456", "https://example.com:80a",
        "HTTPS://example.com", "https://Example.com", "ftp://example.com",
        "https://a.example,https://b.example", "https://a b", "https://user@a.example", "http://[::1",
        "http://[::1]x", "https://:80"};
    for (size_t i = 0; i < sizeof good / sizeof *good; i++)
        cr_expect(hfd_origins_valid(good[i]), "%s", good[i]);
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        cr_expect_not(hfd_origins_valid(bad[i]), "%s", bad[i]);
}

Test(origin, only_whole_origins_match) {
    static const char list[] = "https://chart.example http://localhost:5173";
    cr_expect(hfd_origins_have(list, "https://chart.example"));
    cr_expect(hfd_origins_have(list, "http://localhost:5173"));
    static const char *const strangers[] = {"", "null", "https://chart.exampl", "https://chart.example2",
        "http://chart.example", "http://localhost", "chart.example",
        "https://chart.example http://localhost:5173"};
    for (size_t i = 0; i < sizeof strangers / sizeof *strangers; i++)
        cr_expect_not(hfd_origins_have(list, strangers[i]), "%s", strangers[i]);
    cr_expect_not(hfd_origins_have("", ""));
}
