/* What a scan of a package says, and which of the clinic's screw models it is. Nothing is stored. */
#include <stdlib.h>
#include <time.h>

#include "../base/date.h"
#include "../base/gs1.h"
#include "../rest/op.h"
#include "common.h"

static const char *const TYPES[] = {"application/json", NULL};

static const struct hfd_column columns[] = {
    {.name = "udi",
        .kind = HFD_COLUMN_TEXT,
        .flags = HFD_REQUIRED | HFD_ANY_TEXT,
        .max = 500,
        .what = "As scanned, every character; or as printed, with brackets."},
};

/* $1 GTIN, $2 the day or NULL. One row at least, which tells the day. */
static const struct hfd_statement models_statement = {"udi-models",
    "select d.day, m.id, m.name from (select coalesce($2::date, current_date) as day) d left join screw_models m "
    "on m.gtin = $1 and coalesce(m.effective_from <= d.day, true) and coalesce(d.day < m.effective_to, true) "
    "order by m.name, m.id",
    2};

static void put_text(struct hfd_buf *out, const char *name, const char *text) {
    if (text == NULL) return;
    hfd_buf_printf(out, ",\"%s\":", name);
    hfd_buf_json_string(out, text);
}

static void put_date(struct hfd_buf *out, const char *name, bool has, int days) {
    char text[HFD_DATE_TEXT];
    if (!has) return;
    hfd_date_print(days, text);
    put_text(out, name, text);
}

static void put_pieces(struct hfd_buf *out, const struct hfd_gs1 *scan) {
    hfd_buf_text(out, ",\"pieces\":[");
    for (size_t i = 0; i < scan->piece_count; i++) {
        hfd_buf_printf(out, "%s{\"ai\":\"%s\"", i > 0 ? "," : "", scan->pieces[i].identifier);
        put_text(out, "value", scan->pieces[i].value);
        hfd_buf_char(out, '}');
    }
    hfd_buf_char(out, ']');
}

static void put_models(struct hfd_buf *out, const struct hfd_rows *rows) {
    hfd_buf_text(out, ",\"screw_models\":[");
    for (size_t i = 0; i < rows->row_count && hfd_cell(rows, i, 1) != NULL; i++) {
        hfd_buf_printf(out, "%s{\"id\":\"%s\"", i > 0 ? "," : "", hfd_cell(rows, i, 1));
        put_text(out, "name", hfd_cell(rows, i, 2));
        hfd_buf_char(out, '}');
    }
    hfd_buf_char(out, ']');
}

static enum hfd_problem_kind reply(
    struct hfd_op *op, const char *udi, const struct hfd_gs1 *scan, const struct hfd_rows *rows) {
    int today = 0;
    hfd_date_parse(hfd_cell(rows, 0, 0), &today);
    struct hfd_buf out;
    hfd_buf_init(&out, op->arena, 1024);
    hfd_buf_text(&out, "{\"udi\":");
    hfd_buf_json_string(&out, udi);
    put_text(&out, "gtin", scan->gtin);
    put_text(&out, "lot", scan->lot);
    put_text(&out, "serial", scan->serial);
    put_date(&out, "made_on", scan->has_made_on, scan->made_on);
    put_date(&out, "expires_on", scan->has_expires_on, scan->expires_on);
    if (scan->has_expires_on)
        hfd_buf_printf(&out, ",\"expired\":%s", scan->expires_on < today ? "true" : "false");
    put_pieces(&out, scan);
    put_models(&out, rows);
    hfd_buf_char(&out, '}');
    return hfd_op_json(op, out.text, out.length);
}

/* By which years of two digits are told apart. */
static int year_of(const char *on) {
    struct tm now;
    const time_t seconds = time(NULL);
    return on != NULL ? (int)strtol(on, NULL, 10) : 1900 + gmtime_r(&seconds, &now)->tm_year;
}

static enum hfd_problem_kind parse(struct hfd_op *op) {
    const char *params[2] = {NULL}, *udi = NULL, *fault = NULL;
    bool changed;
    struct hfd_gs1 scan;
    if (!hfd_op_day(op, &params[1])) return hfd_op_refuse(op, HFD_BAD_REQUEST);
    enum hfd_problem_kind kind = hfd_op_body(op, TYPES, "Accept-Post");
    if (kind == HFD_OK)
        kind = hfd_record_merge(columns, HFD_COUNT(columns), NULL, op->request->body, op->request->body_len,
            op->arena, &udi, &changed, &op->errors, &op->detail);
    if (kind == HFD_OK) fault = hfd_gs1_parse(udi, year_of(params[1]), op->arena, &scan);
    if (fault != NULL) {
        hfd_errors_add(&op->errors, "/udi", "%s", fault);
        kind = HFD_VALIDATION;
    }
    if (kind != HFD_OK) return hfd_op_refuse(op, kind);
    params[0] = scan.gtin;
    struct hfd_call call = {.statement = &models_statement, .params = params};
    kind = hfd_op_run(op, &call, 1);
    return kind == HFD_OK ? reply(op, udi, &scan, &call.rows) : kind;
}

static const char *const day_query[] = {"on", NULL};
static const struct hfd_route routes[] = {
    {.method = HFD_POST,
        .path = "/v1/udi/parse",
        .what = "What a scan of a device's package says (GS1), and which screw model it is; stores nothing",
        .takes =
            "{type: object, required: [udi], additionalProperties: false, properties: {udi: {type: string, "
            "pattern: \"^[\\\\s\\\\S]{1,500}$\", description: \"As scanned, every character; or as printed, with "
            "brackets around the identifiers.\"}}}",
        .answers =
            "{type: object, required: [udi, gtin, pieces, screw_models], additionalProperties: false, properties: {"
            "udi: {type: string, description: As sent.}, gtin: {type: string}, lot: {type: string}, "
            "serial: {type: string}, made_on: {type: string, format: date}, expires_on: {type: string, format: "
            "date, description: Day 00 of a scan is the last of its month.}, expired: {type: boolean, description: "
            "\"On the day asked for; what expires that day may still be used.\"}, pieces: {type: array, description: "
            "\"All that was read, to be confirmed: a lost separator hides a field in the one before.\", items: "
            "{type: object, required: [ai, value], additionalProperties: false, properties: {ai: {type: string}, "
            "value: {type: string}}}}, screw_models: {type: array, description: \"Of the clinic, with this GTIN, in "
            "use on the day.\", items: {type: object, required: [id, name], additionalProperties: false, properties: "
            "{id: {type: string, format: uuid}, name: {type: string}}}}}}",
        .example = "{\"udi\": \"(01)09506000134352(17)280131(10)LOT42A(21)SN0007\"}",
        .query = day_query,
        .roles = HFD_EVERYONE,
        .operation = parse},
};

const struct hfd_resource hfd_resource_udi = {
    .routes = routes, .route_count = HFD_COUNT(routes), .untraced = true};
