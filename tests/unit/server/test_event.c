#include <criterion/criterion.h>
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "../../../server/events/event.h"

static const char clinic[] = "01890a5d-ac96-774b-bcce-b302099a8057",
                  other[] = "01890a5d-ac96-774b-bcce-b302099a8058";

Test(event, a_place_belongs_to_its_clinic) {
    char cursor[HFD_EVENT_CURSOR_SIZE], altered[HFD_EVENT_CURSOR_SIZE];
    int64_t read;
    for (int64_t position = 0; position < INT64_C(900000000000000000); position = position * 7 + 3) {
        hfd_event_cursor(position, clinic, cursor);
        cr_assert(hfd_event_cursor_read(cursor, clinic, &read) && read == position);
        cr_assert_not(hfd_event_cursor_read(cursor, other, &read), "%s", cursor);
        hfd_event_cursor(position + 1, clinic, altered);
        memcpy(strchr(altered, '.'), strchr(cursor, '.'), 8);
        cr_assert_not(hfd_event_cursor_read(altered, clinic, &read), "%s", altered);
    }
    static const char *const no_places[] = {
        "", "1", "x", ".", "-1.000000", "1.", "9999999999999999999.000000", "1 .000000"};
    for (size_t i = 0; i < sizeof no_places / sizeof *no_places; i++)
        cr_assert_not(hfd_event_cursor_read(no_places[i], clinic, &read), "%s", no_places[i]);
}

/* The form of a message: WHATWG HTML, 9.2.6 Interpreting an event stream. */
Test(event, is_written_as_message_and_json) {
    hf_arena arena;
    struct hfd_buf out;
    const char *cells[] = {
        "7", "2026-03-02T07:05:09.250000Z", "visit.created", "/v1/visits", clinic, "1", "a\"b"};
    char expected[512], cursor[HFD_EVENT_CURSOR_SIZE];
    hf_arena_init(&arena, 1024, 0);
    hfd_buf_init(&out, &arena, 64);
    struct hfd_event event = hfd_event_of(cells);
    hfd_event_cursor(7, clinic, cursor);
    hfd_event_write_message(&out, &event, clinic);
    snprintf(expected, sizeof expected,
        "id: %s\nevent: visit.created\ndata: {\"position\":7,\"at\":\"2026-03-02T07:05:09.250000Z\","
        "\"type\":\"visit.created\",\"resource\":\"/v1/visits\",\"id\":\"%s\",\"version\":1,\"request_id\":\"a\\\"b\"}\n\n",
        cursor, clinic);
    cr_assert_str_eq(out.text, expected);
    hfd_buf_cut(&out, 0);
    event.request = NULL;
    hfd_event_write(&out, &event);
    cr_assert_null(strstr(out.text, "request_id"));
    hf_arena_fini(&arena);
}
