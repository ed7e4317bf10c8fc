#include "sheets.h"

#include <assert.h>
#include <string.h>

#include "../draw/svg.h"
#include "../json/course.h"
#include "../pages/chart.h"

/* ---------------------------------------------------------------- rows */

const struct hfd_statement hfd_clinic_statement = {"sheet-clinic", "select name, demo from clinics", 0};

static bool is_demo(const struct hfd_rows *clinic) {
    return strcmp(hfd_cell(clinic, 0, 1), "t") == 0;
}

enum hfd_problem_kind hfd_clinic_drawing(struct hfd_op *op, struct hfd_buf *drawing) {
    struct hfd_call call = {.statement = &hfd_clinic_statement};
    enum hfd_problem_kind kind = hfd_op_run(op, &call, 1);
    if (kind != HFD_OK) return kind;
    if (is_demo(&call.rows)) hfd_svg_foot(drawing, hfd_html_invented);
    return hfd_op_drawing(op, drawing);
}

#define PATIENT(day)                                                                                         \
    "select p.id, p.chart_number, p.given_name, p.family_name, p.birth_date, "                               \
    "extract(year from age(" day ", p.birth_date)), p.sex, p.cigarettes_per_day, p.note "
#define CASE                                                                                                     \
    "select c.id, c.title, c.clinician, c.chair, c.opened_on, c.closed_on, c.state, c.note, "                    \
    "(select count(*) from visits n where n.case_id = c.id), l.visited_on, l.visited_on + l.next_interval_days " \
    "from cases c left join lateral (select n.visited_on, n.next_interval_days from visits n "                   \
    "where n.case_id = c.id order by n.visited_on desc limit 1) l on true "
#define SCREW                                                                                                      \
    "select s.id, s.name, coalesce(t.name, s.site), m.name, s.placed_on, replace(s.state, '-', ' '), s.state_on, " \
    "s.state_reason, s.lot, c.title from screws s join screw_models m on m.id = s.screw_model_id "                 \
    "join cases c on c.id = s.case_id left join sites t on t.key = s.site "

static const struct hfd_statement patient_patient = {
    "sheet-patient", PATIENT("current_date") "from patients p where p.id = $1::uuid", 1};
static const struct hfd_statement patient_cases = {"sheet-patient-cases",
    CASE "where c.patient_id = $1::uuid order by c.opened_on desc nulls last, c.created_at desc limit 200",
    1};
static const struct hfd_statement patient_screws = {"sheet-patient-screws",
    SCREW "where s.patient_id = $1::uuid order by s.placed_on desc, s.name limit 200", 1};

static const struct hfd_statement case_patient = {"sheet-case-patient",
    PATIENT("current_date") "from cases c join patients p on p.id = c.patient_id where c.id = $1::uuid", 1};
static const struct hfd_statement case_case = {"sheet-case", CASE "where c.id = $1::uuid", 1};
static const struct hfd_statement case_visits = {"sheet-case-visits",
    "select v.id, v.visited_on, v.visited_on + v.next_interval_days, v.note, "
    "(select string_agg(e ->> 'name', ', ' order by n) from jsonb_array_elements(v.elements) with ordinality x (e, n)), "
    "(select string_agg(concat_ws(' ', a ->> 'action', a ->> 'of'), ', ' order by n) "
    "from jsonb_array_elements(v.actions) with ordinality x (a, n)) "
    "from visits v where v.case_id = $1::uuid order by v.visited_on desc limit 500",
    1};
static const struct hfd_statement case_setups = {"sheet-case-setups",
    "select u.name, u.purpose, w.version, w.worn_from, w.worn_to from setups u join setup_versions w on w.setup_id = u.id "
    "where u.case_id = $1::uuid order by w.worn_from desc, u.name limit 500",
    1};
static const struct hfd_statement case_screws = {
    "sheet-case-screws", SCREW "where s.case_id = $1::uuid order by s.placed_on, s.name limit 200", 1};
static const struct hfd_statement case_stages = {"sheet-case-stages",
    "select e ->> 'name', e ->> 'planned_from', e ->> 'planned_to', e ->> 'note' from cases c, "
    "jsonb_array_elements(c.stages) with ordinality x (e, n) where c.id = $1::uuid order by n",
    1};

static const struct hfd_statement visit_patient = {"sheet-visit-patient",
    PATIENT(
        "v.visited_on") "from visits v join cases c on c.id = v.case_id join patients p on p.id = c.patient_id "
                        "where v.id = $1::uuid",
    1};
static const struct hfd_statement visit_case = {
    "sheet-visit-case", CASE "where c.id = (select v.case_id from visits v where v.id = $1::uuid)", 1};
static const struct hfd_statement visit_visit = {"sheet-visit",
    "select v.id, v.visited_on, v.visited_on + v.next_interval_days, v.note, null, null from visits v where v.id = $1::uuid",
    1};
static const struct hfd_statement visit_beside = {"sheet-visit-beside",
    "select (select n.id from visits n where n.case_id = v.case_id and n.visited_on < v.visited_on "
    "order by n.visited_on desc limit 1), "
    "(select n.id from visits n where n.case_id = v.case_id and n.visited_on > v.visited_on order by n.visited_on limit 1) "
    "from visits v where v.id = $1::uuid",
    1};
static const struct hfd_statement visit_worn = {"sheet-visit-worn",
    "select u.name, u.purpose, w.version, w.worn_from, w.worn_to from visit_setups k join setups u on u.id = k.setup_id "
    "join setup_versions w on w.setup_id = k.setup_id and w.version = k.setup_version where k.visit_id = $1::uuid "
    "order by k.position",
    1};
static const struct hfd_statement visit_checks = {"sheet-visit-checks",
    "select e ->> 'screw', e ->> 'mobility_grade', e ->> 'inflammation_grade', e ->> 'percussion_score', "
    "e ->> 'resonance_score' from visits v, jsonb_array_elements(v.screw_checks) with ordinality x (e, n) "
    "where v.id = $1::uuid order by n",
    1};
static const struct hfd_statement visit_actions = {"sheet-visit-actions",
    "select e ->> 'action', e ->> 'of', e ->> 'note' from visits v, jsonb_array_elements(v.actions) "
    "with ordinality x (e, n) where v.id = $1::uuid order by n",
    1};

/* Rows as structs: each has as many members, all of them texts, as the statement has columns. */
static const void *structs(const struct hfd_rows *rows, size_t size, hf_arena *arena) {
    assert(rows->row_count == 0 || rows->column_count * sizeof(char *) == size);
    void *list = hf_arena_alloc(arena, rows->row_count * size + 1);
    if (rows->row_count > 0) memcpy(list, rows->cells, rows->row_count * size);
    return list;
}
#define STRUCTS(call, type) structs(&(call).rows, sizeof(struct type), op->arena)

struct hfd_frame hfd_frame_of(const struct hfd_op *op, const struct hfd_rows *clinic, const char *title) {
    return (struct hfd_frame){
        .title = title, .clinic = hfd_cell(clinic, 0, 0), .role = op->session.role, .demo = is_demo(clinic)};
}

static const char *place(struct hfd_op *op, const char *collection, const char *id) {
    return hf_arena_printf(op->arena, "/v1/%s/%s.html", collection, id);
}

/* Patients, the patient, the case, the visit, as far as they are told: the last one is this page. */
static void lead_here(struct hfd_op *op, struct hfd_frame *frame, const struct hfd_chart_patient *patient,
    const struct hfd_chart_case *course, const struct hfd_chart_visit *visit) {
    struct hfd_crumb *crumbs = HF_NEW_ARRAY(op->arena, struct hfd_crumb, 4);
    size_t n = 0;
    crumbs[n++] = (struct hfd_crumb){"Patients", "/v1/patients"};
    crumbs[n++] = (struct hfd_crumb){hfd_chart_name(patient, op->arena), place(op, "patients", patient->id)};
    if (course)
        crumbs[n++] =
            (struct hfd_crumb){course->title ? course->title : "Treatment", place(op, "cases", course->id)};
    if (visit) crumbs[n++] = (struct hfd_crumb){"Visit", NULL};
    crumbs[n - 1].path = NULL;
    frame->crumbs = crumbs;
    frame->crumb_count = n;
}

static enum hfd_problem_kind run_all(
    struct hfd_op *op, const struct hfd_statement *const *statements, struct hfd_call *calls, size_t count) {
    for (size_t i = 0; i < count; i++)
        calls[i] = (struct hfd_call){.statement = statements[i], .params = &op->id};
    return hfd_op_run(op, calls, count);
}

/* ---------------------------------------------------------------- pages */

enum hfd_problem_kind hfd_patient_sheet(struct hfd_op *op) {
    enum { CLINIC, PATIENT_ROW, CASES, SCREWS, COUNT };
    static const struct hfd_statement *const statements[] = {
        &hfd_clinic_statement, &patient_patient, &patient_cases, &patient_screws};
    struct hfd_call calls[COUNT];
    enum hfd_problem_kind kind = run_all(op, statements, calls, COUNT);
    if (kind != HFD_OK) return kind;
    if (calls[PATIENT_ROW].rows.row_count == 0) return HFD_NOT_FOUND;
    struct hfd_patient_page page = {.arena = op->arena};
    page.patient = *(const struct hfd_chart_patient *)STRUCTS(calls[PATIENT_ROW], hfd_chart_patient);
    page.cases = STRUCTS(calls[CASES], hfd_chart_case);
    page.case_count = calls[CASES].rows.row_count;
    page.screws = STRUCTS(calls[SCREWS], hfd_chart_screw);
    page.screw_count = calls[SCREWS].rows.row_count;
    page.frame = hfd_frame_of(op, &calls[CLINIC].rows, hfd_chart_name(&page.patient, op->arena));
    lead_here(op, &page.frame, &page.patient, NULL, NULL);
    struct hfd_buf out;
    hfd_buf_init(&out, op->arena, 16384);
    hfd_patient_page(&out, &page);
    return hfd_op_page(op, &out, false);
}

/* NULL when there is no goal. */
static enum hfd_problem_kind progress_of(
    struct hfd_op *op, const struct hfd_rows *rows, const hf_progress **progress) {
    const char *text = hfd_cell(rows, 0, 0);
    struct hfd_course_told *told = HF_NEW(op->arena, struct hfd_course_told);
    /* The parts were checked when they were written: what does not fit now is a fault of ours. */
    if (hfd_course_progress(text, strlen(text), op->arena, &op->errors, told) != HFD_OK) return HFD_INTERNAL;
    *progress = told->progress.goal_count > 0 ? &told->progress : NULL;
    return HFD_OK;
}

enum hfd_problem_kind hfd_case_sheet(struct hfd_op *op) {
    enum { CLINIC, PATIENT_ROW, CASE_ROW, VISITS, SETUPS, SCREWS, STAGES, TIMELINE, COURSE, COUNT };
    static const struct hfd_statement *const statements[] = {&hfd_clinic_statement, &case_patient, &case_case,
        &case_visits, &case_setups, &case_screws, &case_stages, &hfd_timeline_statement};
    struct hfd_call calls[COUNT];
    const char *course[] = {op->id, NULL};
    for (size_t i = 0; i < COURSE; i++)
        calls[i] = (struct hfd_call){.statement = statements[i], .params = &op->id};
    calls[COURSE] = (struct hfd_call){.statement = &hfd_course_statement, .params = course};
    enum hfd_problem_kind kind = hfd_op_run(op, calls, COUNT);
    if (kind != HFD_OK) return kind;
    if (calls[CASE_ROW].rows.row_count == 0) return HFD_NOT_FOUND;
    struct hfd_case_page page = {.arena = op->arena};
    kind = progress_of(op, &calls[COURSE].rows, &page.progress);
    if (kind != HFD_OK) return kind;
    page.patient = *(const struct hfd_chart_patient *)STRUCTS(calls[PATIENT_ROW], hfd_chart_patient);
    page.course = *(const struct hfd_chart_case *)STRUCTS(calls[CASE_ROW], hfd_chart_case);
    page.visits = STRUCTS(calls[VISITS], hfd_chart_visit);
    page.visit_count = calls[VISITS].rows.row_count;
    page.setups = STRUCTS(calls[SETUPS], hfd_chart_setup);
    page.setup_count = calls[SETUPS].rows.row_count;
    page.screws = STRUCTS(calls[SCREWS], hfd_chart_screw);
    page.screw_count = calls[SCREWS].rows.row_count;
    page.stages = STRUCTS(calls[STAGES], hfd_chart_stage);
    page.stage_count = calls[STAGES].rows.row_count;
    page.entries = STRUCTS(calls[TIMELINE], hfd_chart_entry);
    page.entry_count = calls[TIMELINE].rows.row_count;
    page.frame = hfd_frame_of(op, &calls[CLINIC].rows, page.course.title ? page.course.title : "Treatment");
    page.frame.kind = "case sheet";
    lead_here(op, &page.frame, &page.patient, &page.course, NULL);
    struct hfd_buf out;
    hfd_buf_init(&out, op->arena, 65536);
    hfd_case_page(&out, &page);
    return hfd_op_page(op, &out, false);
}

enum hfd_problem_kind hfd_visit_sheet(struct hfd_op *op) {
    enum {
        CLINIC,
        PATIENT_ROW,
        CASE_ROW,
        VISIT,
        BESIDE,
        WORN,
        CHECKS,
        ACTIONS,
        EVALUATION,
        COUNT = EVALUATION + 2
    };
    static const struct hfd_statement *const statements[] = {&hfd_clinic_statement, &visit_patient,
        &visit_case, &visit_visit, &visit_beside, &visit_worn, &visit_checks, &visit_actions};
    struct hfd_call calls[COUNT];
    for (size_t i = 0; i < EVALUATION; i++)
        calls[i] = (struct hfd_call){.statement = statements[i], .params = &op->id};
    struct hfd_evaluation e;
    enum hfd_problem_kind kind = hfd_visit_evaluate(op, NULL, HFD_ANSWER_WHOLE, calls, COUNT, &e);
    if (kind != HFD_OK) return kind;
    struct hfd_visit_page page = {.arena = op->arena, .missing = &e.errors};
    page.patient = *(const struct hfd_chart_patient *)STRUCTS(calls[PATIENT_ROW], hfd_chart_patient);
    page.course = *(const struct hfd_chart_case *)STRUCTS(calls[CASE_ROW], hfd_chart_case);
    page.visit = *(const struct hfd_chart_visit *)STRUCTS(calls[VISIT], hfd_chart_visit);
    page.before = hfd_cell(&calls[BESIDE].rows, 0, 0);
    page.after = hfd_cell(&calls[BESIDE].rows, 0, 1);
    page.worn = STRUCTS(calls[WORN], hfd_chart_setup);
    page.worn_count = calls[WORN].rows.row_count;
    page.checks = STRUCTS(calls[CHECKS], hfd_chart_check);
    page.check_count = calls[CHECKS].rows.row_count;
    page.actions = STRUCTS(calls[ACTIONS], hfd_chart_action);
    page.action_count = calls[ACTIONS].rows.row_count;
    if (e.kind == HFD_OK) {
        page.in = e.input;
        page.answer = e.answer;
        page.digest = e.digest;
    }
    page.frame = hfd_frame_of(
        op, &calls[CLINIC].rows, hf_arena_printf(op->arena, "Visit of %s", page.visit.visited_on));
    page.frame.kind = "visit sheet";
    lead_here(op, &page.frame, &page.patient, &page.course, &page.visit);
    struct hfd_buf out;
    hfd_buf_init(&out, op->arena, 131072);
    hfd_visit_page(&out, &page);
    return hfd_op_page(op, &out, false);
}
