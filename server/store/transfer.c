/* A clinic as lines of JSON: out of one database, into another. One line says what it is, one a row, one says
 * that nothing is missing. The rows are the tables' own, without the clinic; what belongs to the place rather
 * than to the clinic (tokens, the audit, kept replies) stays there. */
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "../base/uuid.h"
#include "admin.h"
#include "migrations.h"
#include "owner.h"

/* In an order in which every reference has been written before. visit_setups and standings follow. */
static const struct {
    const char *name, *order;
} tables[] = {{"sites", "id"}, {"screw_models", "id"}, {"plate_patterns", "id"}, {"patients", "id"},
    {"cases", "id"}, {"screws", "id"}, {"setups", "id"}, {"setup_versions", "setup_id, version"},
    {"visits", "id"}, {"evaluations", "visit_id, digest, core_version, parameters"}};
enum { TABLES = sizeof tables / sizeof *tables, AT_ONCE = 500, BYTES_AT_ONCE = 1 << 22, TOLD_EVERY = 10000 };

static const char row_begins[] = "{\"table\":\"";

static const char *schema(void) {
    size_t last = 0;
    while (hfd_migrations[last + 1].name != NULL)
        last++;
    return hfd_migrations[last].name;
}

static bool run(PGconn *owner, const char *sql, int count, const char *const *params) {
    PGresult *result = hfd_owner_query(owner, sql, count, params);
    PQclear(result);
    return result != NULL;
}

static void tell(FILE *log, const char *table, uint64_t rows, bool end) {
    if (end || rows % TOLD_EVERY == 0) fprintf(log, "%s %" PRIu64 "%s\n", table, rows, end ? "" : " …");
}

/* ---------------------------------------------------------------- out */

/* Row by row: the memory is that of one. */
static bool write_table(
    PGconn *owner, const char *table, const char *order, FILE *out, FILE *log, uint64_t *rows) {
    char sql[256];
    snprintf(sql, sizeof sql, "select (to_jsonb(t) - 'clinic_id')::text from holdfast.%s t order by %s",
        table, order);
    if (!PQsendQuery(owner, sql) || !PQsetSingleRowMode(owner)) {
        fprintf(stderr, "database: %s", PQerrorMessage(owner));
        return false;
    }
    bool good = true;
    uint64_t written = 0;
    PGresult *result;
    while ((result = PQgetResult(owner)) != NULL) {
        if (PQresultStatus(result) == PGRES_SINGLE_TUPLE) {
            fprintf(out, "%s%s\",\"row\":%s}\n", row_begins, table, PQgetvalue(result, 0, 0));
            tell(log, table, ++written, false);
        } else if (PQresultStatus(result) != PGRES_TUPLES_OK) {
            fprintf(stderr, "database: %s", PQresultErrorMessage(result));
            good = false;
        }
        PQclear(result);
    }
    tell(log, table, written, true);
    *rows += written;
    return good && !ferror(out);
}

/* That all of a clinic was taken is as much a reading as any. */
static bool leave_trace(PGconn *owner, const char *clinic_id, const char *action) {
    char request[HFD_UUID_TEXT_SIZE];
    hfd_uuid_new(request);
    const char *const params[] = {clinic_id, action, request};
    return run(owner,
        "insert into holdfast.audit_unsealed (clinic_id, token, role, action, resource, records, patients, request, outcome)"
        " values ($1, '00000000-0000-0000-0000-000000000000', 'owner', $2, '/', '{}', '{}', $3, 'done')",
        3, params);
}

static bool enter_clinic(PGconn *owner, const char *clinic_id) {
    return run(owner, "select set_config('app.clinic', $1, true), set_config('timezone', 'UTC', true)", 1,
        &clinic_id);
}

static bool write_clinic(PGconn *owner, const char *clinic_id, FILE *out, FILE *log) {
    if (!hfd_owner_do(owner, "begin isolation level repeatable read") || !enter_clinic(owner, clinic_id) ||
        !leave_trace(owner, clinic_id, "export"))
        return false;
    const char *const params[] = {clinic_id, schema()};
    PGresult *head = hfd_owner_query(owner,
        "select json_build_object('holdfast', 'clinic', 'format', 1, 'schema', $2::text, 'id', id, 'name', name, 'demo',"
        " demo)::text from holdfast.clinics where id = $1::uuid",
        2, params);
    if (head == NULL || PQntuples(head) != 1) {
        PQclear(head);
        return false;
    }
    fprintf(out, "%s\n", PQgetvalue(head, 0, 0));
    PQclear(head);
    uint64_t rows = 0;
    for (size_t i = 0; i < TABLES; i++)
        if (!write_table(owner, tables[i].name, tables[i].order, out, log, &rows)) return false;
    fprintf(out, "{\"end\":%" PRIu64 "}\n", rows);
    return hfd_owner_do(owner, "commit");
}

int hfd_admin_export(const char *owner_conninfo, const char *clinic, FILE *out, FILE *log) {
    PGconn *owner = hfd_owner_open(owner_conninfo);
    if (owner == NULL) return 1;
    char id[HFD_UUID_TEXT_SIZE];
    bool good = hfd_owner_find_clinic(owner, clinic, id) && write_clinic(owner, id, out, log);
    PQfinish(owner);
    if (good && fflush(out) != 0) {
        fprintf(stderr, "what was written did not all arrive\n");
        good = false;
    }
    return good ? 0 : 1;
}

/* ---------------------------------------------------------------- in */

struct reading {
    PGconn *owner;
    FILE *log;
    char id[HFD_UUID_TEXT_SIZE];
    char *line;
    size_t line_room;
    uint64_t line_number;
    char *batch; /* "[line,line" */
    size_t batch_length, batch_room, batch_rows;
    size_t table;
    uint64_t table_rows, rows;
};

static bool refuse(const struct reading *r, const char *why) {
    fprintf(stderr, "line %" PRIu64 ": %s\n", r->line_number, why);
    return false;
}

/* NULL at the end. */
static const char *next_line(struct reading *r, FILE *in) {
    ssize_t length = getline(&r->line, &r->line_room, in);
    if (length < 0) return NULL;
    r->line_number++;
    while (length > 0 && (r->line[length - 1] == '\n' || r->line[length - 1] == '\r'))
        r->line[--length] = '\0';
    return r->line;
}

static bool write_batch(struct reading *r) {
    if (r->batch_rows == 0) return true;
    char sql[512];
    snprintf(sql, sizeof sql,
        "insert into holdfast.%s select x.* from jsonb_array_elements(($2 || ']')::jsonb) with ordinality e (l, n),"
        " jsonb_populate_record(null::holdfast.%s, (l -> 'row') || jsonb_build_object('clinic_id', $1::text)) x order by n",
        tables[r->table].name, tables[r->table].name);
    const char *const params[] = {r->id, r->batch};
    if (!run(r->owner, sql, 2, params)) {
        char why[96];
        snprintf(why, sizeof why, "this row or one of the %zu before it was refused", r->batch_rows - 1);
        return refuse(r, why);
    }
    r->rows += r->batch_rows;
    r->batch_rows = r->batch_length = 0;
    return true;
}

static bool append(struct reading *r, const char *line) {
    size_t length = strlen(line);
    if (r->batch_length + length + 2 > r->batch_room) {
        size_t room = 2 * (r->batch_length + length + 2);
        char *more = realloc(r->batch, room);
        if (more == NULL) return refuse(r, "no memory");
        r->batch = more;
        r->batch_room = room;
    }
    r->batch[r->batch_length++] = r->batch_rows++ == 0 ? '[' : ',';
    memcpy(r->batch + r->batch_length, line, length + 1);
    r->batch_length += length;
    return true;
}

/* The table that a line is of; TABLES: of none. */
static size_t table_of(const char *line) {
    if (strncmp(line, row_begins, sizeof row_begins - 1) != 0) return TABLES;
    const char *name = line + sizeof row_begins - 1;
    size_t length = strcspn(name, "\""), i = 0;
    while (i < TABLES && (strlen(tables[i].name) != length || memcmp(tables[i].name, name, length) != 0))
        i++;
    return i;
}

static bool take_row(struct reading *r, const char *line) {
    size_t table = table_of(line);
    if (table == TABLES) return refuse(r, "neither a row of a table of ours nor the end");
    if (table != r->table || r->batch_rows == AT_ONCE || r->batch_length > BYTES_AT_ONCE) {
        if (!write_batch(r)) return false;
    }
    if (table != r->table) {
        if (table < r->table) return refuse(r, "the tables are not in their order");
        tell(r->log, tables[r->table].name, r->table_rows, true);
        r->table = table;
        r->table_rows = 0;
    }
    tell(r->log, tables[table].name, ++r->table_rows, false);
    return append(r, line);
}

/* Makes the clinic; it keeps its id where that is free. */
static bool take_head(struct reading *r, const char *line, const char *name) {
    const char *const params[] = {line, schema(), name};
    PGresult *head = hfd_owner_query(r->owner,
        "select h ->> 'schema' = $2, coalesce($3, h ->> 'name'), h ->> 'demo', exists (select from holdfast.clinics c"
        " where c.id::text = h ->> 'id'), h ->> 'id', exists (select from holdfast.clinics c where c.name ="
        " coalesce($3, h ->> 'name')) from (select $1::json h) x where h ->> 'holdfast' = 'clinic' and h ->> 'format' = '1'",
        3, params);
    if (head == NULL || PQntuples(head) != 1) {
        PQclear(head);
        return refuse(r, "not a clinic of format 1");
    }
    bool good = true;
    if (*PQgetvalue(head, 0, 0) != 't')
        good = refuse(r, "another schema: write it with the version of the program that is to read it");
    else if (*PQgetvalue(head, 0, 5) == 't')
        good = refuse(r, "there is a clinic of this name already: give another by --name");
    if (*PQgetvalue(head, 0, 3) == 't')
        hfd_uuid_new(r->id);
    else
        snprintf(r->id, sizeof r->id, "%s", PQgetvalue(head, 0, 4));
    const char *const clinic[] = {r->id, PQgetvalue(head, 0, 1), PQgetvalue(head, 0, 2)};
    good =
        good && run(r->owner, "insert into holdfast.clinics (id, name, demo) values ($1, $2, $3)", 3, clinic);
    PQclear(head);
    return good && enter_clinic(r->owner, r->id);
}

static bool take_end(struct reading *r, const char *line) {
    uint64_t told;
    if (!write_batch(r)) return false;
    tell(r->log, tables[r->table].name, r->table_rows, true);
    if (sscanf(line, "{\"end\":%" SCNu64 "}", &told) != 1 || told != r->rows)
        return refuse(r, "the rows are not as many as were written");
    return leave_trace(r->owner, r->id, "import") && hfd_owner_do(r->owner, "commit");
}

static bool read_clinic(struct reading *r, FILE *in, const char *name) {
    const char *line = next_line(r, in);
    if (line == NULL) return refuse(r, "nothing there");
    if (!hfd_owner_do(r->owner, "begin") || !take_head(r, line, name)) return false;
    while ((line = next_line(r, in)) != NULL) {
        if (strncmp(line, "{\"end\":", 7) == 0) return take_end(r, line);
        if (!take_row(r, line)) return false;
    }
    return refuse(r, "it ends before its end: something is missing");
}

int hfd_admin_import(const char *owner_conninfo, const char *name, FILE *in, FILE *log, char id_out[37]) {
    struct reading r = {.owner = hfd_owner_open(owner_conninfo), .log = log};
    if (r.owner == NULL) return 1;
    bool good = read_clinic(&r, in, name);
    PQfinish(r.owner); /* without a commit nothing was written */
    free(r.line);
    free(r.batch);
    memcpy(id_out, r.id, HFD_UUID_TEXT_SIZE);
    return good ? 0 : 1;
}
