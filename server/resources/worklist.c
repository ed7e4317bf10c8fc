/* Who needs the clinic's attention on a day: open cases whose next visit is due, overdue or not planned, and
 * those at risk. The standings are kept beside the records; the range of one index is the whole list. */
#include "common.h"
#include "sheets.h"

static const char *const dues[] = {"overdue", "due", "ahead", "unplanned", NULL};
static const char *const due_conditions[] = {
    "next_on < day", "next_on = day", "next_on > day", "next_on is null"};
static const char *const risk_conditions[] = {"urgency >= 100000", "urgency < 100000"};
static const char *const evaluations[] = {"pending", "done", "incomplete", NULL};
static const char *const severities[] = {"note", "caution", "stop", NULL};

/* The names of a row are looked up once it is known to be on the page: never for all rows. */
static const char from[] =
    "(select s.case_id as id, s.patient_id, p.chart_number, p.given_name, p.family_name, c.title, s.clinician, s.chair, "
    "s.visit_id, s.visited_on, s.next_on, d.day, d.day - s.next_on as overdue_days, case when s.next_on is null then "
    "'unplanned' when s.next_on < d.day then 'overdue' when s.next_on = d.day then 'due' else 'ahead' end as due, "
    "s.at_risk, s.loose_screws, s.mobile_screws, s.lost_screws, case when s.judged <> s.changes then 'pending' "
    "when s.incomplete is not null then 'incomplete' else 'done' end as evaluation, s.incomplete, s.severity, s.finding, "
    "s.loss_low, s.loss, s.loss_high, s.digest, s.core_version, s.parameters, s.urgency "
    "from (select coalesce($1::date, current_date) as day) d "
    "join standings s on s.urgency <= d.day - date '1970-01-01' + 100000 "
    "cross join lateral (select n.chart_number, n.given_name, n.family_name from patients n "
    "where n.clinic_id = s.clinic_id and n.id = s.patient_id limit 1) p "
    "cross join lateral (select n.title from cases n where n.clinic_id = s.clinic_id and n.id = s.case_id limit 1) c)";

static const struct hfd_column columns[] = {
    {.name = "id", .kind = HFD_COLUMN_UUID, .flags = HFD_READ_ONLY, .what = "The case."},
    {.name = "patient_id", .kind = HFD_COLUMN_UUID, .flags = HFD_READ_ONLY, .what = "Whose treatment it is."},
    {.name = "chart_number",
        .kind = HFD_COLUMN_TEXT,
        .flags = HFD_READ_ONLY,
        .what = "The clinic's own number of the patient."},
    {.name = "given_name", .kind = HFD_COLUMN_TEXT, .what = "Given name."},
    {.name = "family_name", .kind = HFD_COLUMN_TEXT, .what = "Family name."},
    {.name = "title", .kind = HFD_COLUMN_TEXT, .what = "The treatment in a few words."},
    {.name = "clinician", .kind = HFD_COLUMN_TEXT, .flags = HFD_FILTER, .what = "Who leads it."},
    {.name = "chair",
        .kind = HFD_COLUMN_TEXT,
        .flags = HFD_FILTER,
        .max = 60,
        .what = "Chair or room where the case is usually seen."},
    {.name = "visit_id", .kind = HFD_COLUMN_UUID, .what = "The last visit; left out: none yet."},
    {.name = "visited_on", .kind = HFD_COLUMN_DATE, .what = "Its day."},
    {.name = "next_on", .kind = HFD_COLUMN_DATE, .what = "Day of the next visit; left out: not planned."},
    {.name = "overdue_days", .kind = HFD_COLUMN_INT, .what = "Days since then; negative: days until then."},
    {.name = "due",
        .kind = HFD_COLUMN_ENUM,
        .flags = HFD_READ_ONLY | HFD_FILTER,
        .names = dues,
        .conditions = due_conditions,
        .what = "The next visit on that day; `ahead` stands here only for cases at risk."},
    {.name = "at_risk",
        .kind = HFD_COLUMN_BOOL,
        .flags = HFD_READ_ONLY | HFD_FILTER,
        .conditions = risk_conditions,
        .what =
            "A screw is loose, was felt to move or was lost since the last visit, or a finding says stop."},
    {.name = "loose_screws",
        .kind = HFD_COLUMN_INT,
        .flags = HFD_READ_ONLY,
        .what = "Screws whose state is loose."},
    {.name = "mobile_screws",
        .kind = HFD_COLUMN_INT,
        .flags = HFD_READ_ONLY,
        .what = "Screws felt to move at the last visit (mobility_grade 1 or more)."},
    {.name = "lost_screws",
        .kind = HFD_COLUMN_INT,
        .flags = HFD_READ_ONLY,
        .what = "Screws lost since the last visit."},
    {.name = "evaluation",
        .kind = HFD_COLUMN_ENUM,
        .flags = HFD_READ_ONLY,
        .names = evaluations,
        .what =
            "Is the last visit judged as the record stands now? pending: within seconds, what follows is of before."},
    {.name = "incomplete", .kind = HFD_COLUMN_TEXT, .what = "What the record lacks for it."},
    {.name = "severity",
        .kind = HFD_COLUMN_ENUM,
        .names = severities,
        .what = "Worst finding of the last visit."},
    {.name = "finding", .kind = HFD_COLUMN_TEXT, .what = "Its code, as in the visit's force-system."},
    {.name = "loss_low", .kind = HFD_COLUMN_REAL, .limit = HF_LIMIT_NONE, .what = "Lower end of loss."},
    {.name = "loss",
        .kind = HFD_COLUMN_REAL,
        .flags = HFD_RANGE,
        .limit = HF_LIMIT_NONE,
        .what =
            "Share lost until the next visit of the screw most at risk, with its reasons in the visit's stability."},
    {.name = "loss_high", .kind = HFD_COLUMN_REAL, .limit = HF_LIMIT_NONE, .what = "Upper end of loss."},
    {.name = "digest", .kind = HFD_COLUMN_TEXT, .what = "Of the mechanics document that was judged."},
    {.name = "core_version", .kind = HFD_COLUMN_TEXT, .what = "Version of the computation."},
    {.name = "parameters", .kind = HFD_COLUMN_TEXT, .what = "Version of its constants."},
    {.name = "urgency",
        .kind = HFD_COLUMN_INT,
        .flags = HFD_READ_ONLY | HFD_SORT,
        .what =
            "Order of the list: those at risk first, then by the day they are due; not planned: since the last visit."},
};

const struct hfd_resource hfd_resource_worklist = {
    .path = "/v1/worklist",
    .noun = "worklist row",
    .table = "standings",
    .from = from,
    .dated = true,
    .columns = columns,
    .column_count = HFD_COUNT(columns),
    .verbs = HFD_LIST,
    .read_roles = HFD_CHART_READERS,
    .list_page = hfd_worklist_list,
    .sort = "urgency",
};
