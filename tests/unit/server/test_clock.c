#include <criterion/criterion.h>
#include <time.h>

#include "../../../server/base/clock.h"

/* Dates of RFC 3339 §5.8, brought to UTC; their seconds since 1970 by date(1) of the GNU core utilities. */
Test(clock, text_of_dates_before_and_after_1970) {
    static const struct {
        int64_t unix_ms;
        const char *text;
    } cases[] = {
        {482196050520, "1985-04-12T23:20:50.520Z"},
        {851042397000, "1996-12-20T00:39:57.000Z"},
        {-1041337172130, "1937-01-01T11:40:27.870Z"},
        {0, "1970-01-01T00:00:00.000Z"},
        {-1, "1969-12-31T23:59:59.999Z"},
        {1709164800007, "2024-02-29T00:00:00.007Z"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char text[HFD_CLOCK_TEXT_SIZE];
        hfd_clock_text(cases[i].unix_ms, text);
        cr_assert_str_eq(text, cases[i].text);
    }
}

/* The C library's own clock beside ours. */
Test(clock, both_clocks_run) {
    int64_t begin = hfd_clock_monotonic_ns();
    time_t seconds = time(NULL);
    int64_t unix_ms = hfd_clock_unix_ms();
    cr_assert(unix_ms / 1000 - seconds >= 0 && unix_ms / 1000 - seconds <= 2);
    nanosleep(&(struct timespec){.tv_nsec = 20000000}, NULL);
    int64_t waited_ms = (hfd_clock_monotonic_ns() - begin) / HFD_NS_PER_MS;
    cr_assert(waited_ms >= 20 && waited_ms < 5000, "%ld", (long)waited_ms);
}
