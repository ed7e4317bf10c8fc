#include "list_forms.h"

#include <string.h>

#include "../base/csv.h"

/* Numbers, dates and words of ours cannot be taken for a formula; texts and JSON may. */
static bool is_bare(enum hfd_column_kind kind) {
    return kind != HFD_COLUMN_TEXT && kind != HFD_COLUMN_PART;
}

static void put_table_row(
    struct hfd_buf *out, const struct hfd_resource *resource, const char *const *cells, char separator) {
    for (size_t i = 0; i < resource->column_count; i++) {
        const struct hfd_column *column = &resource->columns[i];
        const char *text = cells[i];
        if (text != NULL && column->kind == HFD_COLUMN_BOOL) text = text[0] == 't' ? "true" : "false";
        hfd_csv_cell(out, i == 0, separator, text, is_bare(column->kind));
    }
    hfd_csv_line_end(out);
}

static void put_line(
    struct hfd_buf *out, const struct hfd_resource *resource, const char *const *cells, char separator) {
    (void)separator;
    hfd_record_write(out, resource->columns, resource->column_count, cells);
    hfd_buf_char(out, '\n');
}

const struct hfd_list_form *hfd_list_form(const struct hfd_op *op) {
    static const struct hfd_list_form forms[] = {
        {"text/csv", "text/csv; charset=utf-8; header=present", "csv", true, put_table_row},
        {"application/x-ndjson", "application/x-ndjson", "ndjson", false, put_line}};
    for (size_t i = 0; i < HFD_COUNT(forms); i++)
        if (hfd_op_produces(op, forms[i].media_type)) return &forms[i];
    return NULL;
}

void hfd_list_header(struct hfd_buf *out, const struct hfd_resource *resource, char separator) {
    for (size_t i = 0; i < resource->column_count; i++)
        hfd_csv_cell(out, i == 0, separator, resource->columns[i].name, true);
    hfd_csv_line_end(out);
}
