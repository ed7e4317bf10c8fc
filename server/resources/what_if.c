/* The page of a visit that shows what another force, place, day or number of screws would come to. */
#include "../pages/what_if.h"

#include <string.h>

#include "../json/document.h"
#include "../rest/op.h"

/* The clinic, whose visit it is, and the document that it amounts to. */
static const struct hfd_statement statement = {"what-if",
    "select k.name, k.demo, p.id, p.chart_number, p.given_name, p.family_name, "
    "extract(year from age(v.visited_on, p.birth_date)), c.id, c.title, "
    "v.visited_on, visit_document(v.id, null) from visits v "
    "join cases c on c.clinic_id = v.clinic_id and c.id = v.case_id "
    "join patients p on p.clinic_id = c.clinic_id and p.id = c.patient_id "
    "join clinics k on k.id = v.clinic_id where v.id = $1::uuid",
    1};
enum { CLINIC, DEMO, PATIENT_ID, CHART, GIVEN, FAMILY, AGE, CASE_ID, CASE, DAY, DOCUMENT };

/* What the form says; a place that this document has no field for is no parameter. */
static bool take(struct hfd_op *op, struct hfd_asked *fields, size_t count) {
    for (size_t i = 0; i < op->request->query_count; i++) {
        const struct hfd_pair *pair = &op->request->query[i];
        size_t f = 0;
        while (f < count && strcmp(fields[f].name, pair->name) != 0)
            f++;
        const bool known =
            f < count && (fields[f].kind != HFD_ASKED_WITHOUT || strcmp(pair->value, HFD_WHAT_IF_OUT) == 0);
        if (known)
            fields[f].text = pair->value;
        else if (pair->name[0] == '/')
            hfd_errors_add(&op->errors, hf_arena_printf(op->arena, "?%s", pair->name),
                f < count ? "expected \"%s\"" : "There is no such parameter.", HFD_WHAT_IF_OUT);
    }
    return op->errors.count == 0;
}

static struct hfd_what_if_side side_of(const struct hfd_evaluation *e) {
    return (struct hfd_what_if_side){e->input, e->answer, e->digest};
}

/* True: the changed document could be evaluated. */
static bool vary(
    struct hfd_op *op, const char *document, struct hfd_asked *fields, struct hfd_what_if_page *page) {
    size_t count;
    const struct hfd_change *changes =
        hfd_what_if_changes(page->recorded.in, fields, page->field_count, op->arena, &count);
    const char *text = hfd_document_change(document, changes, count, op->arena);
    struct hfd_evaluation e;
    hfd_document_evaluate(text, strlen(text), false, HFD_ANSWER_WHOLE, op->arena, &e);
    if (e.kind != HFD_OK && e.errors.count == 0) hfd_errors_add(&e.errors, "", "%s", e.detail);
    page->faults = hfd_what_if_blame(fields, page->field_count, &e.errors);
    bool sound = e.kind == HFD_OK;
    for (size_t i = 0; i < page->field_count; i++)
        sound &= fields[i].fault == NULL;
    if (sound) page->variant = side_of(&e);
    return sound;
}

/* For who does not like pages. */
static enum hfd_problem_kind refuse(struct hfd_op *op, const struct hfd_what_if_page *page) {
    for (size_t i = 0; i < page->field_count; i++)
        if (page->fields[i].fault != NULL)
            hfd_errors_add(&op->errors, hf_arena_printf(op->arena, "?%s", page->fields[i].name), "%s",
                page->fields[i].fault);
    for (const struct hfd_error *error = page->faults.first; error != NULL; error = error->next)
        hfd_errors_add(&op->errors, error->pointer, "%s", error->detail);
    op->detail = "The variant cannot be computed. Pointers are into its mechanics document.";
    return HFD_VALIDATION;
}

static struct hfd_frame frame_of(
    struct hfd_op *op, const char *const *row, const struct hfd_chart_patient *patient) {
    struct hfd_crumb *crumbs = HF_NEW_ARRAY(op->arena, struct hfd_crumb, 5);
    crumbs[0] = (struct hfd_crumb){"Patients", "/v1/patients"};
    crumbs[1] = (struct hfd_crumb){hfd_chart_name(patient, op->arena),
        hf_arena_printf(op->arena, "/v1/patients/%s.html", row[PATIENT_ID])};
    crumbs[2] = (struct hfd_crumb){
        row[CASE] ? row[CASE] : "Treatment", hf_arena_printf(op->arena, "/v1/cases/%s.html", row[CASE_ID])};
    crumbs[3] = (struct hfd_crumb){"Visit", hf_arena_printf(op->arena, "/v1/visits/%s.html", op->id)};
    crumbs[4] = (struct hfd_crumb){"What if", NULL};
    return (struct hfd_frame){.title = hf_arena_printf(op->arena, "What if at the visit of %s", row[DAY]),
        .clinic = row[CLINIC],
        .role = op->session.role,
        .demo = strcmp(row[DEMO], "t") == 0,
        .crumbs = crumbs,
        .crumb_count = 5};
}

static enum hfd_problem_kind show(struct hfd_op *op, const char *const *row, size_t seen) {
    struct hfd_evaluation recorded;
    struct hfd_buf out;
    hfd_document_evaluate(
        row[DOCUMENT], strlen(row[DOCUMENT]), false, HFD_ANSWER_WHOLE, op->arena, &recorded);
    if (recorded.kind != HFD_OK) {
        op->errors = recorded.errors;
        op->detail =
            "What is recorded does not make a complete mechanics document yet: there is nothing to vary.";
        return recorded.kind;
    }
    const struct hfd_chart_patient patient = {.id = row[PATIENT_ID],
        .chart_number = row[CHART],
        .given_name = row[GIVEN],
        .family_name = row[FAMILY],
        .age_years = row[AGE]};
    struct hfd_what_if_page page = {.frame = frame_of(op, row, &patient),
        .patient = patient,
        .visit_id = op->id,
        .visited_on = row[DAY],
        .recorded = side_of(&recorded),
        .seen = seen,
        .arena = op->arena};
    struct hfd_asked *fields =
        hfd_what_if_fields(page.recorded.in, page.recorded.answer, op->arena, &page.field_count);
    page.fields = fields;
    if (!take(op, fields, page.field_count)) return HFD_BAD_REQUEST;
    const bool sound = vary(op, row[DOCUMENT], fields, &page);
    if (!sound && !op->wants_page) return refuse(op, &page);
    hfd_buf_init(&out, op->arena, 131072);
    hfd_what_if_page(&out, &page);
    hfd_op_page(op, &out, true);
    if (!sound) op->reply->status = hfd_problem_rows[HFD_VALIDATION].status;
    return HFD_OK;
}

static enum hfd_problem_kind read_what_if(struct hfd_op *op) {
    size_t seen;
    if (!hfd_op_choice(op, "seen", hfd_what_if_seen, &seen)) return hfd_op_refuse(op, HFD_BAD_REQUEST);
    struct hfd_call call = {.statement = &statement, .params = &op->id};
    enum hfd_problem_kind kind = hfd_op_run(op, &call, 1);
    if (kind != HFD_OK) return kind;
    return call.rows.row_count == 0 ? HFD_NOT_FOUND : show(op, call.rows.cells, seen);
}

static const char *const query[] = {"seen", "days", HFD_POINTERS, NULL};
static const struct hfd_route routes[] = {
    {.method = HFD_GET,
        .path = "/v1/visits/{id}/what-if",
        .what =
            "A visit beside what it would come to with other forces, fittings, screws or on a later day; nothing is "
            "stored",
        .roles = HFD_CHART_READERS,
        .operation = read_what_if,
        .query = query,
        .refuses_state = true,
        .produces = "text/html"},
};

const struct hfd_resource hfd_resource_what_if = {.routes = routes, .route_count = HFD_COUNT(routes)};
