/* What was told to webhooks, and what became of it. */
#include "../rest/op.h"
#include "../rest/trace.h"
#include "common.h"

static const char *const states[] = {"waiting", "delivered", "given-up", NULL};

static const struct hfd_column columns[] = {
    {.name = "id",
        .kind = HFD_COLUMN_UUID,
        .flags = HFD_READ_ONLY,
        .what = "Behind msg_ in the field webhook-id, the same over all attempts."},
    {.name = "webhook_id",
        .kind = HFD_COLUMN_UUID,
        .flags = HFD_READ_ONLY | HFD_FILTER,
        .what = "Whom it is told."},
    {.name = "position", .kind = HFD_COLUMN_INT, .flags = HFD_READ_ONLY, .what = "Of the event in the feed."},
    {.name = "type", .kind = HFD_COLUMN_TEXT, .flags = HFD_READ_ONLY, .what = "Of the event."},
    {.name = "state",
        .kind = HFD_COLUMN_ENUM,
        .flags = HFD_READ_ONLY | HFD_FILTER,
        .names = states,
        .what = "waiting: it is tried, or tried again. given-up: after eight attempts, or an answer 410."},
    {.name = "attempts",
        .kind = HFD_COLUMN_INT,
        .flags = HFD_READ_ONLY,
        .what = "Since it was last put in line."},
    {.name = "next_at", .kind = HFD_COLUMN_TIME, .what = "When it is tried next."},
    {.name = "status", .kind = HFD_COLUMN_INT, .what = "HTTP status of the last answer."},
    {.name = "error", .kind = HFD_COLUMN_TEXT, .what = "Why there was no answer."},
    {.name = "log",
        .kind = HFD_COLUMN_TEXT,
        .flags = HFD_ANY_TEXT,
        .max = 2000,
        .what = "One line an attempt: time, status or error, milliseconds; left out: none yet."},
    {.name = "body",
        .kind = HFD_COLUMN_TEXT,
        .flags = HFD_READ_ONLY,
        .max = 2000,
        .what = "What is sent, JSON text."},
    {.name = "created_at",
        .kind = HFD_COLUMN_TIME,
        .flags = HFD_READ_ONLY | HFD_SORT | HFD_RANGE,
        .what = "When it was first put in line."},
};

static enum hfd_problem_kind redeliver(struct hfd_op *op) {
    static const struct hfd_statement again = {"deliver-again", "select holdfast.deliver_again($1)", 1};
    struct hfd_call calls[3] = {{.statement = &again, .params = &op->id},
        {.statement = &op->texts->read, .params = &op->id},
        hfd_trace_call(op, "redeliver", op->path, op->id)};
    enum hfd_problem_kind kind = hfd_op_run(op, calls, 3);
    if (kind != HFD_OK) return kind;
    op->traced = true;
    if (calls[1].rows.row_count == 0) return HFD_NOT_FOUND;
    hfd_op_row(op, 200, calls[1].rows.cells);
    return HFD_OK;
}

static const struct hfd_route routes[] = {
    {.method = HFD_POST,
        .path = "/v1/deliveries/{id}/redeliver",
        .what = "Tell it again now, with the same webhook-id",
        .answers = "{$ref: \"#/components/schemas/Delivery\"}",
        .roles = HFD_ADMINISTRATORS,
        .operation = redeliver},
};

const struct hfd_resource hfd_resource_deliveries = {
    .path = "/v1/deliveries",
    .noun = "delivery",
    .table = "deliveries",
    .columns = columns,
    .column_count = HFD_COUNT(columns),
    .verbs = HFD_LIST,
    .read_roles = HFD_ADMINISTRATORS,
    .sort = "-created_at",
    .routes = routes,
    .route_count = HFD_COUNT(routes),
    .untraced = true,
};
