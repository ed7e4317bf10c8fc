/* What became of the clinic's screws: time to loss by group, and what it makes of the published losses. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "../../core/evaluate.h"
#include "../../core/evidence.h"
#include "../../core/report.h"
#include "../../core/site.h"
#include "../draw/survival.h"
#include "../json/encode.h"
#include "../json/outcome_table.h"
#include "common.h"
#include "sheets.h"

static const char notice[] =
    "Decision support for licensed orthodontic professionals. Lost screws are events; removed ones, and those in place "
    "(loose ones too), are followed until that day. Screws of one patient hang together, which the intervals do not "
    "know: where patients have several they are too narrow. The operator is who leads the case.";

/* Fewer say nothing, and too much of single patients. */
enum { fewest_screws = 5 };

/* ---------------------------------------------------------------- the question */

/* A row per group and days followed. Without any screw: one row that tells the day. $1 the day, NULL = today.
 */
#define FOLLOWED(key, name, published, joins)                                                                \
    "with day as (select coalesce($1::date, current_date) as day), followed as (select " key                 \
    " as key, " name " as name, " published ", s.state = 'lost' and s.state_on <= d.day as lost, "           \
    "case when s.state in ('lost', 'removed') and s.state_on <= d.day then s.state_on else d.day end "       \
    "- s.placed_on as days from day d join screws s on s.placed_on <= d.day " joins ") "                     \
    "select d.day, f.key, f.name, f.days, count(*) filter (where f.lost), "                                  \
    "count(*) filter (where not f.lost), f.low, f.mid, f.high, f.source "                                    \
    "from day d left join followed f on true "                                                               \
    "group by d.day, f.key, f.name, f.days, f.low, f.mid, f.high, f.source order by f.key, f.days"
enum { col_day, col_key, col_name, col_days, col_lost, col_kept, col_low, col_mid, col_high, col_source };

#define PUBLISHED "t.loss_low as low, t.loss_mid as mid, t.loss_high as high, t.source as source"
#define UNPUBLISHED "null as low, null as mid, null as high, null as source"

/* Age at placement; the limits are those of the published factors (evidence age-young, age-older). */
#define YOUNGER(years) "s.placed_on < p.birth_date + interval '" years " years' then "
#define BY_AGE(under_20, under_30, older)                                                                    \
    "case when p.birth_date is null then null when " YOUNGER("20") "'" under_20 "' when " YOUNGER(           \
        "30") "'" under_30 "' else '" older "' end"

static const struct {
    const char *by;
    struct hfd_statement statement;
} groupings[] = {
    {"site", {"outcomes-site", FOLLOWED("s.site", "t.name", PUBLISHED, "join sites t on t.key = s.site"), 1}},
    {"model",
        {"outcomes-model",
            FOLLOWED("m.id::text", "m.name", UNPUBLISHED, "join screw_models m on m.id = s.screw_model_id"),
            1}},
    {"operator",
        {"outcomes-operator",
            FOLLOWED("c.clinician", "c.clinician", UNPUBLISHED, "join cases c on c.id = s.case_id"), 1}},
    {"age_group",
        {"outcomes-age-group",
            FOLLOWED(BY_AGE("0-19", "20-29", "30-up"), BY_AGE("under 20", "20 to 29", "30 and over"),
                UNPUBLISHED, "join patients p on p.id = s.patient_id"),
            1}},
};

/* ---------------------------------------------------------------- the answer */

static double real_of(const char *cell) {
    return cell ? strtod(cell, NULL) : NAN;
}

static int int_of(const char *cell) {
    return (int)strtol(cell, NULL, 10);
}

static const struct hfd_base_loss no_base = {
    .published = {NAN, NAN, NAN},
    .own = {NAN, NAN},
    .pooled = {{NAN, NAN, NAN}, {NAN, NAN, NAN}},
};

/* The published loss, or what the clinic holds for a site of its own; `row` is any of the group's. */
static struct hfd_base_loss base_of(
    const struct hfd_rows *rows, size_t row, const hf_followed *followed, size_t count, hf_report *report) {
    const char *key = hfd_cell(rows, row, col_key);
    const hf_site *site = key ? hf_site_find(key) : NULL;
    hf_range held = {real_of(hfd_cell(rows, row, col_low)), real_of(hfd_cell(rows, row, col_mid)),
        real_of(hfd_cell(rows, row, col_high))};
    if (isnan(held.mid)) return no_base;
    struct hfd_base_loss base = {
        .published = site ? site->loss : held,
        .source = site ? hf_report_cite(report, site->source) : hfd_cell(rows, row, col_source),
        .own = hf_survival_own(followed, count),
    };
    base.pooled = hf_survival_pool(base.published, HF_EV(CLINIC_SPREAD), base.own);
    hf_report_cite(report, "clinic-spread");
    hf_report_cite(report, "loss-shape");
    return base;
}

/* Rows `first` to `end` are one group. */
static struct hfd_outcome_group group_of(
    const struct hfd_rows *rows, size_t first, size_t end, hf_arena *arena, hf_report *report) {
    size_t count = end - first;
    hf_followed *followed = HF_NEW_ARRAY(arena, hf_followed, count);
    for (size_t i = 0; i < count; i++)
        followed[i] = (hf_followed){int_of(hfd_cell(rows, first + i, col_days)),
            int_of(hfd_cell(rows, first + i, col_lost)), int_of(hfd_cell(rows, first + i, col_kept))};
    struct hfd_outcome_group group = {
        .key = hfd_cell(rows, first, col_key),
        .name = hfd_cell(rows, first, col_name),
        .suppressed = 1,
        .survival = hf_survival_estimate(followed, count, arena),
        .base = no_base,
    };
    if (group.survival.screws >= fewest_screws) {
        group.suppressed = HF_ABSENT;
        group.is_told = true;
        group.base = base_of(rows, first, followed, count, report);
        return group;
    }
    hf_survival nothing = {.screws = HF_ABSENT, .lost = HF_ABSENT, .last_days = HF_ABSENT};
    nothing.median_days = (hf_range){NAN, NAN, NAN};
    group.survival = nothing;
    return group;
}

static bool same_group(const struct hfd_rows *rows, size_t a, size_t b) {
    const char *one = hfd_cell(rows, a, col_key), *other = hfd_cell(rows, b, col_key);
    return one && other ? strcmp(one, other) == 0 : one == other;
}

static void tell_groups(
    const struct hfd_rows *rows, hf_arena *arena, hf_report *report, struct hfd_outcomes *out) {
    out->groups = HF_NEW_ARRAY(arena, struct hfd_outcome_group, rows->row_count);
    for (size_t first = 0, end; first < rows->row_count; first = end) {
        for (end = first + 1; end < rows->row_count && same_group(rows, first, end);)
            end++;
        if (hfd_cell(rows, first, col_days) == NULL) continue; /* the row that tells the day */
        out->groups[out->group_count++] = group_of(rows, first, end, arena, report);
    }
}

static const struct hfd_statement *statement_of(struct hfd_op *op, const char **by) {
    *by = hfd_request_query(op->request, "by");
    if (*by == NULL) *by = groupings[0].by;
    for (size_t i = 0; i < HFD_COUNT(groupings); i++)
        if (strcmp(groupings[i].by, *by) == 0) return &groupings[i].statement;
    hfd_errors_add(&op->errors, "?by", "expected one of site, model, operator, age_group");
    return NULL;
}

static enum hfd_problem_kind draw(struct hfd_op *op, const struct hfd_outcomes *told) {
    struct hfd_survival_group *groups = HF_NEW_ARRAY(op->arena, struct hfd_survival_group, told->group_count);
    for (size_t i = 0; i < told->group_count; i++)
        groups[i] = (struct hfd_survival_group){
            told->groups[i].name, told->groups[i].is_told ? &told->groups[i].survival : NULL};
    struct hfd_buf buf;
    hfd_buf_init(&buf, op->arena, 16384);
    hfd_draw_survival(&buf, false, told->on, told->by, groups, told->group_count, notice);
    return hfd_clinic_drawing(op, &buf);
}

static enum hfd_problem_kind read_survival(struct hfd_op *op) {
    struct hfd_outcomes out = {
        .core = HF_CORE_VERSION, .parameters = HF_PARAMETERS_VERSION, .notice = notice};
    const char *params[1];
    struct hfd_call call = {.statement = statement_of(op, &out.by), .params = params};
    bool has_day = hfd_op_day(op, &params[0]);
    if (call.statement == NULL || !has_day) return hfd_op_refuse(op, HFD_BAD_REQUEST);
    enum hfd_problem_kind kind = hfd_op_run(op, &call, 1);
    if (kind != HFD_OK) return kind;
    hf_report report = hf_report_on(op->arena);
    out.on = hfd_cell(&call.rows, 0, col_day);
    tell_groups(&call.rows, op->arena, &report, &out);
    hf_answer cited = {0};
    hf_report_finish(&report, &cited);
    if (hfd_op_produces(op, "image/svg+xml")) return draw(op, &out);
    out.sources = cited.sources;
    out.source_count = cited.source_count;
    struct hfd_buf buf;
    hfd_buf_init(&buf, op->arena, 4096);
    hfd_encode_object(&buf, &hfd_outcomes_table, &out, &(struct hfd_encoding){0});
    return hfd_op_json(op, buf.text, buf.length);
}

static const char *const survival_query[] = {"by", "on", NULL};
static const struct hfd_route routes[] = {
    {.method = HFD_GET,
        .path = "/v1/outcomes/survival",
        .what = "How long the clinic's screws stay, by site, model, operator or age of the patient",
        .answers = "{$ref: \"#/components/schemas/Outcomes\"}",
        .roles = HFD_CHART_READERS,
        .operation = read_survival,
        .produces = "application/json, image/svg+xml",
        .query = survival_query},
};

const struct hfd_resource hfd_resource_outcomes = {.routes = routes, .route_count = HFD_COUNT(routes)};
