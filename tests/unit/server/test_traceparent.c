#include "../../../server/base/traceparent.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#define TRACE "4bf92f3577b34da6a3ce929d0e0e4736"
#define PARENT "00f067aa0ba902b7"

static char id[HFD_TRACE_ID_SIZE];

/* W3C Trace Context, §3.2.2 (values) and §3.2.4 (versions); the ids are those of its examples. */
Test(traceparent, good) {
    static const char *const fields[] = {"00-" TRACE "-" PARENT "-01", "00-" TRACE "-" PARENT "-00",
        "01-" TRACE "-" PARENT "-ff", "cc-" TRACE "-" PARENT "-01-what-the-future-will-be-like"};
    for (size_t i = 0; i < sizeof fields / sizeof *fields; i++) {
        memset(id, 'x', sizeof id - 1);
        cr_expect(hfd_traceparent_read(fields[i], id), "%s", fields[i]);
        cr_expect_str_eq(id, TRACE);
    }
}

Test(traceparent, bad) {
    static const char *const fields[] = {"", "00", "00-" TRACE, "ff-" TRACE "-" PARENT "-01",
        "00-00000000000000000000000000000000-" PARENT "-01", "00-" TRACE "-0000000000000000-01",
        "00-" TRACE "-" PARENT "-01-", "00-" TRACE "-" PARENT "-0", "00-" TRACE "-" PARENT "-0g",
        "00-4BF92F3577B34DA6A3CE929D0E0E4736-" PARENT "-01", "0G-" TRACE "-" PARENT "-01",
        "00_" TRACE "-" PARENT "-01", "00-" TRACE "_" PARENT "-01", "00-" TRACE "-" PARENT "_01",
        "00-4bf92f3577b34da6a3ce929d0e0e473--" PARENT "-01", "cc-" TRACE "-" PARENT "-01.x"};
    for (size_t i = 0; i < sizeof fields / sizeof *fields; i++)
        cr_expect_not(hfd_traceparent_read(fields[i], id), "%s", fields[i]);
}

Test(traceparent, a_new_one_is_one_that_others_take) {
    char again[HFD_TRACE_ID_SIZE], field[64];
    hfd_trace_id_new(id);
    snprintf(field, sizeof field, "00-%s-" PARENT "-01", id);
    cr_expect(hfd_traceparent_read(field, again));
    cr_expect_str_eq(again, id);
    hfd_trace_id_new(again);
    cr_expect_str_neq(again, id);
}
