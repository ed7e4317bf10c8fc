/* What happened on a case, in order: screws, set-ups, visits, stages. */
#include <string.h>

#include "../rest/op.h"
#include "common.h"
#include "sheets.h"

/* A case of years has some hundred. */
#define MOST_ENTRIES "2000"

/* One entry per row: day, rank within a day, kind, collection and id of the record, words, and what belongs
 * to the kind. */
#define ENTRIES                                                                                                                    \
    "select c.opened_on as day, 0 as rank, 'case-opened' as kind, 'cases' as of, c.id, concat_ws(': ', 'Case opened', "            \
    "c.title) as words, '{}'::jsonb as more from c where c.opened_on is not null "                                                 \
    "union all select (s ->> 'planned_from')::date, 1, 'stage-planned', 'cases', c.id, 'Stage planned: ' || (s ->> 'name'), "      \
    "jsonb_build_object('until', s -> 'planned_to') from c, jsonb_array_elements(c.stages) s where s ? 'planned_from' "            \
    "union all select s.placed_on, 2, 'screw-placed', 'screws', s.id, 'Screw ' || s.name || ' placed', "                           \
    "jsonb_build_object('name', s.name, 'site', s.site, 'model', m.name) "                                                         \
    "from c join screws s on s.case_id = c.id join screw_models m on m.id = s.screw_model_id "                                     \
    "union all select s.state_on, 5, 'screw-' || s.state, 'screws', s.id, 'Screw ' || s.name || ' ' || s.state, "                  \
    "jsonb_build_object('name', s.name, 'site', s.site, 'reason', s.state_reason) "                                                \
    "from c join screws s on s.case_id = c.id where s.state <> 'in-place' "                                                        \
    "union all select v.worn_from, 3, 'setup-worn', 'setups', u.id, concat(u.name, ' worn', "                                      \
    "case when v.version > 1 then ', version ' || v.version end), jsonb_build_object('name', u.name, 'plate_version', v.version) " \
    "from c join setups u on u.case_id = c.id join setup_versions v on v.setup_id = u.id "                                         \
    "union all select v.worn_to, 3, 'setup-ended', 'setups', u.id, u.name || ' no longer worn', "                                  \
    "jsonb_build_object('name', u.name, 'plate_version', v.version) "                                                              \
    "from c join setups u on u.case_id = c.id join setup_versions v on v.setup_id = u.id where v.worn_to is not null "             \
    "and not exists (select from setup_versions n where n.setup_id = u.id and n.version = v.version + 1 "                          \
    "and n.worn_from = v.worn_to) "                                                                                                \
    "union all select v.visited_on, 4, 'visit', 'visits', v.id, concat_ws(': ', 'Visit', (select string_agg(concat_ws(' ', "       \
    "a ->> 'action', a ->> 'of'), ', ' order by n) from jsonb_array_elements(v.actions) with ordinality e (a, n))), "              \
    "jsonb_build_object('actions', v.actions, 'next_on', v.visited_on + v.next_interval_days) "                                    \
    "from c join visits v on v.case_id = c.id "                                                                                    \
    "union all select c.closed_on, 6, 'case-' || c.state, 'cases', c.id, 'Case ' || c.state, '{}' "                                \
    "from c where c.state <> 'open' and c.closed_on is not null"
/* The latest of one case ($1), all columns, in no order. */
#define LATEST                                                                                               \
    "with c as (select * from cases where id = $1::uuid), e as (" ENTRIES "), l as (select * from e "        \
    "order by day desc, rank desc, words desc, id limit " MOST_ENTRIES ") "
#define IN_ORDER "l.day, l.rank, l.words, l.id desc"

const struct hfd_statement hfd_timeline_statement = {
    "case-entries", LATEST "select l.day, l.of, l.id, l.words from l order by " IN_ORDER, 1};

static const struct hfd_statement timeline = {"case-timeline",
    LATEST
    "select json_build_object('items', coalesce((select json_agg(jsonb_strip_nulls(jsonb_build_object('on', "
    "l.day, 'kind', l.kind, 'id', l.id, 'href', '/v1/' || l.of || '/' || l.id, 'words', l.words) || l.more) "
    "order by " IN_ORDER ") from l), '[]'), 'complete', (select count(*) from e) <= " MOST_ENTRIES ") from c",
    1};

static enum hfd_problem_kind read_timeline(struct hfd_op *op) {
    struct hfd_call call = {.statement = &timeline, .params = &op->id};
    enum hfd_problem_kind kind = hfd_op_run(op, &call, 1);
    if (kind != HFD_OK) return kind;
    if (call.rows.row_count == 0) return HFD_NOT_FOUND;
    const char *text = hfd_cell(&call.rows, 0, 0);
    return hfd_op_json(op, text, strlen(text));
}

static const struct hfd_route routes[] = {
    {.method = HFD_GET,
        .path = "/v1/cases/{id}/timeline",
        .what = "What happened on a case, in order: screws, set-ups, visits, stages",
        .answers =
            "{type: object, required: [items, complete], additionalProperties: false, properties: {complete: {type: "
            "boolean, description: \"False: the first ones were cut, the latest 2000 are told.\"}, items: {type: array, "
            "items: {type: object, required: [\"on\", kind, id, href, words], additionalProperties: false, properties: {"
            "\"on\": {type: string, format: date}, kind: {enum: [case-opened, stage-planned, screw-placed, screw-loose, "
            "screw-lost, screw-removed, setup-worn, setup-ended, visit, case-finished, case-stopped]}, "
            "id: {type: string, format: uuid, description: Of the record.}, href: {type: string}, words: {type: string}, "
            "name: {type: string}, site: {type: string}, model: {type: string, description: Screw model.}, "
            "reason: {type: string}, plate_version: {type: integer}, until: {type: string, format: date}, "
            "next_on: {type: string, format: date}, actions: {type: array, items: {type: object, required: [action], "
            "properties: {action: {type: string}, of: {type: string}, note: {type: string}}}}}}}}}",
        .roles = HFD_CHART_READERS,
        .operation = read_timeline},
};

const struct hfd_resource hfd_resource_timeline = {.routes = routes, .route_count = HFD_COUNT(routes)};
