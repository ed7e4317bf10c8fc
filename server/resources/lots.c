/* Recall: whose screws came out of a lot. Nothing is left out that could be of it. */
#include <string.h>

#include "../base/gs1.h"
#include "../rest/op.h"
#include "../rest/texts.h"
#include "../rest/trace.h"
#include "common.h"

extern const struct hfd_resource hfd_resource_screws;

/* A clinic that placed more of one lot reads the list of screws by lot. */
#define MOST_SCREWS 1000
#define MOST_SCREWS_AND_ONE "1001"

/* $1 GTIN of 14 digits, $2 lot, $3 one row more than is shown. What was scanned begins
 * with the GTIN under (01), behind a symbology identifier or FNC1 as the scanner sends them; of a scan that
 * does not the model's GTIN stands; without either nothing is excluded. A lot that was not recorded by itself
 * is looked for in the scan. */
static const char page[] =
    "select %s, certain from (select s.*, s.lot = $2 and s.gtin = $1 as certain from (select *, "
    "coalesce((regexp_match(udi, '^(?:\\][A-Za-z][0-9])?\\x1d?(?:\\(01\\)|01)([0-9]{14})'))[1], "
    "(select m.gtin from screw_models m where m.id = screw_model_id)) as gtin from %s "
    "where lot = $2 or (lot is null and strpos(udi, $2) > 0)) s where s.gtin is null or s.gtin = $1) t "
    "order by certain is true desc, placed_on, id limit $3";

static void write_screws(
    struct hfd_buf *out, const char *name, const struct hfd_rows *rows, const char *certain) {
    const struct hfd_resource *r = &hfd_resource_screws;
    const char *before = "";
    hfd_buf_printf(out, "\"%s\":[", name);
    for (size_t i = 0; i < rows->row_count && i < MOST_SCREWS; i++) {
        const char *cell = hfd_cell(rows, i, rows->column_count - 1);
        if (strcmp(cell != NULL ? cell : "f", certain) != 0) continue;
        hfd_buf_text(out, before);
        hfd_record_write(out, r->columns, r->column_count, rows->cells + i * rows->column_count);
        before = ",";
    }
    hfd_buf_char(out, ']');
}

static enum hfd_problem_kind trace_lot(struct hfd_op *op) {
    const char *gtin = op->request->segments[2], *lot = op->request->segments[3];
    if (!hfd_gs1_is_gtin(gtin)) {
        op->detail = "A GTIN has 8, 12, 13 or 14 digits, the last of which checks the others.";
        return hfd_op_refuse(op, HFD_BAD_REQUEST);
    }
    op->texts = hfd_texts_of(op, &hfd_resource_screws); /* what is shown, and what the audit notes */
    const char *sql = hf_arena_printf(op->arena, page, op->texts->columns, op->texts->from);
    const struct hfd_statement statement = {"lot-screws", sql, 3};
    const char *params[] = {hf_arena_printf(op->arena, "%.*s%s", 14 - (int)strlen(gtin), "000000", gtin), lot,
        MOST_SCREWS_AND_ONE};
    struct hfd_call call = {.statement = &statement, .params = params};
    enum hfd_problem_kind kind = hfd_trace_run(op, &call, 1, MOST_SCREWS);
    if (kind != HFD_OK) return kind;
    struct hfd_buf out;
    hfd_buf_init(&out, op->arena, 4096);
    hfd_buf_char(&out, '{');
    write_screws(&out, "certain", &call.rows, "t");
    hfd_buf_char(&out, ',');
    write_screws(&out, "possible", &call.rows, "f");
    hfd_buf_printf(&out, ",\"complete\":%s}", call.rows.row_count <= MOST_SCREWS ? "true" : "false");
    return hfd_op_json(op, out.text, out.length);
}

#define SCREWS "{type: array, items: {$ref: \"#/components/schemas/Screw\"}, description: \""

static const struct hfd_route routes[] = {
    {.method = HFD_GET,
        .path = "/v1/lots/{gtin}/{lot}",
        .what = "Recall: the screws of a lot, in place or not, and those that could be of it",
        .answers =
            "{type: object, required: [certain, possible, complete], additionalProperties: false, properties: {"
            "certain: " SCREWS
            "The lot is recorded, and the device identifier that was scanned, or else the screw's model, has this GTIN.\"}, "
            "possible: " SCREWS
            "The lot is recorded, but neither scan nor model tells a GTIN; or only the scan "
            "holds the lot's text.\"}, complete: {type: boolean, description: \"False: cut after 1000 "
            "screws.\"}}}",
        .roles = HFD_CHART_READERS,
        .operation = trace_lot},
};

const struct hfd_resource hfd_resource_lots = {.routes = routes, .route_count = HFD_COUNT(routes)};
