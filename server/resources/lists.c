/* Lists as pages. */
#include "../pages/lists.h"

#include <assert.h>

#include "sheets.h"

/* Of the rows those columns, row after row: the members of a struct of texts. */
static const void *picked(
    struct hfd_op *op, const struct hfd_listing *listing, const char *const *names, size_t count) {
    const char **cells = HF_NEW_ARRAY(op->arena, const char *, listing->count *count + 1);
    for (size_t column = 0; column < count; column++) {
        const int at = hfd_column_find(op->resource, names[column]);
        for (size_t row = 0; row < listing->count; row++)
            cells[row * count + column] = hfd_cell(listing->rows, row, (size_t)at);
    }
    return cells;
}

static const char *asked(const struct hfd_op *op, const char *name) {
    return hfd_request_query(op->request, name);
}

enum hfd_problem_kind hfd_patients_list(struct hfd_op *op, const struct hfd_listing *listing) {
    static const char *const names[] = {"id", "chart_number", "family_name", "given_name", "birth_date"};
    static_assert(sizeof(struct hfd_listed_patient) == sizeof names, "a member per column");
    struct hfd_call clinic = {.statement = &hfd_clinic_statement};
    enum hfd_problem_kind kind = hfd_op_run(op, &clinic, 1);
    if (kind != HFD_OK) return kind;
    struct hfd_patients_page page = {.frame = hfd_frame_of(op, &clinic.rows, "Patients"),
        .patients = picked(op, listing, names, HFD_COUNT(names)),
        .count = listing->count,
        .chart_number = asked(op, "chart_number"),
        .family_name = asked(op, "family_name"),
        .next = listing->next};
    page.frame.kind = "list";
    struct hfd_buf out;
    hfd_buf_init(&out, op->arena, 32768);
    hfd_patients_page(&out, &page);
    return hfd_op_page(op, &out, false);
}

/* Each value once, by a step in the index for each. */
#define DISTINCT(column)                                                                                     \
    "with recursive v (value) as ((select " column " from standings where " column                           \
    " is not null order by " column " limit 1) union all select (select s." column                           \
    " from standings s where s." column " > v.value "                                                        \
    "order by s." column " limit 1) from v where v.value is not null) "                                      \
    "select value from v where value is not null limit 500"
static const struct hfd_statement clinicians = {"worklist-clinicians", DISTINCT("clinician"), 0};
static const struct hfd_statement chairs = {"worklist-chairs", DISTINCT("chair"), 0};

static const char *const *column_of(const struct hfd_rows *rows, hf_arena *arena) {
    const char **list = HF_NEW_ARRAY(arena, const char *, rows->row_count + 1);
    for (size_t i = 0; i < rows->row_count; i++)
        list[i] = hfd_cell(rows, i, 0);
    list[rows->row_count] = NULL;
    return list;
}

enum hfd_problem_kind hfd_worklist_list(struct hfd_op *op, const struct hfd_listing *listing) {
    static const char *const names[] = {"id", "patient_id", "chart_number", "family_name", "given_name",
        "title", "clinician", "chair", "visit_id", "visited_on", "next_on", "overdue_days", "due", "at_risk",
        "loose_screws", "mobile_screws", "lost_screws", "evaluation", "severity", "loss_low", "loss",
        "loss_high"};
    static_assert(sizeof(struct hfd_listed_case) == sizeof names, "a member per column");
    struct hfd_call calls[] = {
        {.statement = &hfd_clinic_statement}, {.statement = &clinicians}, {.statement = &chairs}};
    enum hfd_problem_kind kind = hfd_op_run(op, calls, HFD_COUNT(calls));
    if (kind != HFD_OK) return kind;
    struct hfd_worklist_page page = {.frame = hfd_frame_of(op, &calls[0].rows, "Worklist"),
        .cases = picked(op, listing, names, HFD_COUNT(names)),
        .count = listing->count,
        .on = asked(op, "on"),
        .clinician = asked(op, "clinician"),
        .chair = asked(op, "chair"),
        .due = asked(op, "due"),
        .at_risk = asked(op, "at_risk"),
        .clinicians = column_of(&calls[1].rows, op->arena),
        .chairs = column_of(&calls[2].rows, op->arena),
        .next = listing->next};
    page.frame.kind = "list";
    struct hfd_buf out;
    hfd_buf_init(&out, op->arena, 65536);
    hfd_worklist_page(&out, &page);
    return hfd_op_page(op, &out, false);
}
