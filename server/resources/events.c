/* The feed of events: read page by page, or listened to. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../base/fnv.h"
#include "../events/event.h"
#include "../events/hub.h"
#include "../rest/op.h"
#include "../rest/rest.h"
#include "common.h"

/* A stream that is taken up again gets this much at once. When it was much it ends behind it, and its client
 * comes back at once: what a listener holds in memory stays small. */
enum { LIMIT_DEFAULT = 50, LIMIT_MAX = 200, BACKLOG_MAX = 500, BACKLOG_KEPT = 50 };

static const char stream_type[] = "text/event-stream";

struct asked {
    struct hfd_op *op;
    bool listens;
    long limit;
    const char *place; /* cursor, "earliest" or "latest" */
    const char *types[HFD_EVENT_TYPES_MAX + 1];
    size_t type_count;
};

/* One picture of where the feed begins, where it ends, and what follows a place in it. */
static const struct hfd_statement page_statement = {"events-page",
    "select h.position, h.trimmed, " HFD_EVENT_COLUMNS
    " from event_heads h left join lateral (select * from events o "
    "where o.clinic_id = h.clinic_id and o.position > $1::bigint and ($2::text[] is null or o.type = any ($2::text[])) "
    "order by o.position limit $3) e on true order by e.position",
    3};

static void refuse(struct asked *asked, const char *name, const char *detail) {
    hfd_errors_add(&asked->op->errors, name, "%s", detail);
}

static void take_types(struct asked *asked) {
    const char *text = hfd_request_query(asked->op->request, "type");
    if (text == NULL) return;
    if (!hfd_event_types_read(text, asked->types))
        refuse(asked, "?type",
            "Expected types such as visit.created, parted by commas: a kind of record and created, changed or erased.");
    while (asked->types[asked->type_count] != NULL)
        asked->type_count++;
}

static void take_limit(struct asked *asked) {
    const char *text = hfd_request_query(asked->op->request, "limit");
    asked->limit = asked->listens ? BACKLOG_MAX : LIMIT_DEFAULT;
    if (text == NULL) return;
    size_t digits = strspn(text, "0123456789");
    long limit = digits > 0 && digits < 6 && text[digits] == '\0' ? strtol(text, NULL, 10) : 0;
    if (limit < 1 || limit > LIMIT_MAX)
        refuse(asked, "?limit", "Expected a whole number from 1 to 200.");
    else if (!asked->listens)
        asked->limit = limit;
}

static void take_place(struct asked *asked) {
    const char *again = asked->listens ? hfd_request_header(asked->op->request, "last-event-id") : NULL;
    const char *cursor = hfd_request_query(asked->op->request, "cursor");
    asked->place = again != NULL && *again != '\0' ? again : cursor;
    if (asked->place == NULL) asked->place = asked->listens ? "latest" : "earliest";
}

/* The clinic is known only once the token has been looked at: whether the digits of a cursor are right is
 * seen after its rows have been read. */
static int64_t position_of(const char *place) {
    if (strcmp(place, "earliest") == 0) return 0;
    if (strcmp(place, "latest") == 0) return INT64_MAX;
    size_t digits = strspn(place, "0123456789");
    return digits > 0 && digits <= 18 ? strtoll(place, NULL, 10) : -1;
}

static const char *types_array(const struct asked *asked) {
    if (asked->type_count == 0) return NULL;
    const char *array = "{";
    for (size_t i = 0; i < asked->type_count; i++)
        array = hf_arena_printf(asked->op->arena, "%s%s%s", array, i > 0 ? "," : "", asked->types[i]);
    return hf_arena_printf(asked->op->arena, "%s}", array);
}

struct page {
    struct hfd_rows rows;
    size_t count;
    int64_t head, trimmed;
    int64_t next; /* place behind all that was looked at */
};

static int64_t number(const char *cell) {
    return strtoll(cell, NULL, 10);
}

static void take_rows(struct page *page, const struct asked *asked, const struct hfd_rows *rows) {
    page->rows = *rows;
    if (rows->row_count == 0) return; /* nothing has ever happened in this clinic */
    page->head = page->next = number(hfd_cell(rows, 0, 0));
    page->trimmed = number(hfd_cell(rows, 0, 1));
    page->count = hfd_cell(rows, 0, 2) != NULL ? rows->row_count : 0;
    if (page->count == (size_t)asked->limit) page->next = number(hfd_cell(rows, page->count - 1, 2));
}

static struct hfd_event event_at(const struct page *page, size_t row) {
    return hfd_event_of(page->rows.cells + row * page->rows.column_count + 2);
}

static enum hfd_problem_kind check_place(const struct asked *asked, const struct page *page) {
    int64_t position = position_of(asked->place), read;
    if (position == 0 || position == INT64_MAX) return HFD_OK;
    if (!hfd_event_cursor_read(asked->place, asked->op->session.clinic_id, &read)) {
        hfd_errors_add(&asked->op->errors, "?cursor", "Not a place in this feed.");
        return HFD_BAD_REQUEST;
    }
    return position < page->trimmed || position > page->head ? HFD_CURSOR_GONE : HFD_OK;
}

static enum hfd_problem_kind reply_page(const struct asked *asked, const struct page *page) {
    struct hfd_op *op = asked->op;
    struct hfd_buf out;
    char cursor[HFD_EVENT_CURSOR_SIZE];
    hfd_buf_init(&out, op->arena, 256 * (page->count + 1));
    hfd_buf_text(&out, "{\"items\":[");
    for (size_t i = 0; i < page->count; i++) {
        struct hfd_event event = event_at(page, i);
        if (i > 0) hfd_buf_char(&out, ',');
        hfd_event_write(&out, &event);
    }
    hfd_event_cursor(page->next, op->session.clinic_id, cursor);
    hfd_buf_printf(&out, "],\"next_cursor\":\"%s\"}", cursor);
    return hfd_op_json(op, out.text, out.length);
}

static const char *const *kept_types(const struct asked *asked) {
    if (asked->type_count == 0) return NULL;
    const char **types = HF_NEW_ARRAY(asked->op->arena, const char *, asked->type_count + 1);
    memcpy(types, asked->types, (asked->type_count + 1) * sizeof *types);
    return types;
}

/* How long a client waits before it comes back. Those that a restart sent away all at once shall not come so:
 * a browser takes a refusal for the end. */
static int pause_ms(const struct hfd_op *op, bool at_once) {
    return at_once ? 100 : 1000 + (int)(hfd_fnv1a(op->request->id) % 4000);
}

/* The place is told first, without an event: who is cut off before the first one takes up again there. */
static enum hfd_problem_kind reply_stream(const struct asked *asked, const struct page *page) {
    struct hfd_op *op = asked->op;
    char cursor[HFD_EVENT_CURSOR_SIZE];
    struct hfd_listener listener = {.clinic_id = op->session.clinic_id,
        .digest_hex = op->session.digest_hex,
        .after = page->next,
        .types = kept_types(asked),
        .ends = page->count > BACKLOG_KEPT};
    listener.clinic_id = hf_arena_strdup(op->arena, op->session.clinic_id);
    hfd_buf_init(&listener.backlog, op->arena, 64 + 384 * page->count);
    hfd_buf_printf(&listener.backlog, "retry: %d\n", pause_ms(op, listener.ends));
    for (size_t i = 0; i < page->count; i++) {
        struct hfd_event event = event_at(page, i);
        hfd_event_write_message(&listener.backlog, &event, op->session.clinic_id);
    }
    hfd_event_cursor(page->next, op->session.clinic_id, cursor);
    hfd_buf_printf(&listener.backlog, "id: %s\n\n", cursor);
    hfd_reply_header(op->reply, "X-Accel-Buffering", "no");
    op->reply->status = 200;
    op->reply->content_type = stream_type;
    op->reply->stream = hfd_hub_listen(op->config->hub, op->arena, &listener);
    return HFD_OK;
}

static enum hfd_problem_kind read_events(struct hfd_op *op) {
    struct asked asked = {.op = op, .listens = hfd_op_produces(op, stream_type)};
    take_types(&asked);
    take_limit(&asked);
    take_place(&asked);
    int64_t position = position_of(asked.place);
    if (position < 0) refuse(&asked, "?cursor", "Not a place in this feed.");
    if (op->errors.count > 0) return hfd_op_refuse(op, HFD_BAD_REQUEST);
    const char *params[] = {hf_arena_printf(op->arena, "%" PRId64, position), types_array(&asked),
        hf_arena_printf(op->arena, "%ld", asked.limit)};
    struct hfd_call call = {.statement = &page_statement, .params = params};
    enum hfd_problem_kind kind = hfd_op_run(op, &call, 1);
    if (kind != HFD_OK) return kind;
    struct page page = {0};
    take_rows(&page, &asked, &call.rows);
    kind = check_place(&asked, &page);
    if (kind != HFD_OK) return kind;
    return asked.listens ? reply_stream(&asked, &page) : reply_page(&asked, &page);
}

static const char *const parameters[] = {"cursor", "limit", "type", NULL};

static const struct hfd_route routes[] = {
    {.method = HFD_GET,
        .path = "/v1/events",
        .roles = HFD_CHART_READERS,
        .operation = read_events,
        .query = parameters,
        .fields = "Last-Event-ID",
        .produces = "application/json, text/event-stream",
        .expires = true,
        .what = "What happened to records, in order: page by page, or as server-sent events while it happens",
        .answers =
            "{type: object, required: [items, next_cursor], additionalProperties: false, properties: {items: {type: "
            "array, items: {type: object, required: [position, at, type, resource, id, version], "
            "additionalProperties: false, properties: {position: {type: integer, minimum: 1, description: \"Counts the "
            "clinic's events without gaps.\"}, at: {type: string, format: date-time}, type: {type: string, "
            "description: \"Kind of record, then created, changed or erased: visit.created.\"}, resource: {type: "
            "string, description: \"Path of its list.\"}, id: {type: string, format: uuid}, version: {type: integer, "
            "description: \"Of the record after the change; of an erased one the last.\"}, request_id: {type: "
            "string}}}}, next_cursor: {type: string, description: \"Ask with it for what happens from here on.\"}}}"},
};

/* Names of records and no more: who reads one of them leaves a trace there. */
const struct hfd_resource hfd_resource_events = {
    .routes = routes, .route_count = HFD_COUNT(routes), .untraced = true};
