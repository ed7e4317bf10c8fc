#include "connection.h"

#include <assert.h>
#include <errno.h>
#include <libpq-fe.h>
#include <poll.h>
#include <stdlib.h>
#include <string.h>

#include "../base/clock.h"
#include "../base/log.h"
#include "dial.h"
#include "failure.h"
#include "names.h"

/* The server's own statement limit is shorter; this one also ends waits it does not cover, as that of a
 * commit for a standby that is gone. */
#define BATCH_LIMIT_NS (8 * HFD_NS_PER_S)
#define BACKOFF_FIRST_NS (50 * HFD_NS_PER_MS)
#define BACKOFF_LAST_NS (1 * HFD_NS_PER_S)

struct hfd_connection {
    const char *conninfo;
    PGconn *pg;       /* NULL = closed */
    PGresult *result; /* the one being read: an arena that ends the request must not leak it */
    struct hfd_names prepared;
    const char *transaction;
    int64_t retry_at_ns, backoff_ns; /* backoff_ns 0 = the last attempt succeeded */
    bool unconfirmed;                /* committed here, but a standby may not have it */
    struct hfd_store_counters *counters, uncounted;
};

struct hfd_connection *hfd_connection_new(const char *conninfo) {
    struct hfd_connection *connection = calloc(1, sizeof *connection);
    if (connection == NULL) return NULL;
    connection->conninfo = conninfo;
    connection->counters = &connection->uncounted;
    return connection;
}

void hfd_connection_count(struct hfd_connection *connection, struct hfd_store_counters *counters) {
    connection->counters = counters;
}

void hfd_connection_free(struct hfd_connection *connection) {
    if (connection == NULL) return;
    hfd_connection_close(connection);
    free(connection);
}

void hfd_connection_close(struct hfd_connection *connection) {
    PQclear(connection->result);
    connection->result = NULL;
    PQfinish(connection->pg);
    connection->pg = NULL;
    hfd_names_fini(&connection->prepared);
    connection->transaction = NULL;
}

/* Notices are nobody's business, except the one that a commit reached this server alone: it must not be
 * acknowledged. The name of the server's function tells it in every language. */
static void on_notice(void *context, const PGresult *notice) {
    struct hfd_connection *connection = context;
    const char *function = PQresultErrorField(notice, PG_DIAG_SOURCE_FUNCTION);
    if (function != NULL && strcmp(function, "SyncRepWaitForLSN") == 0) connection->unconfirmed = true;
}

/* A role that row security does not hold would show every clinic to each. Also false before the first
 * migration. */
static bool under_row_security(struct hfd_connection *connection, hf_arena *arena, const char **reason) {
    static const struct hfd_statement statement = {
        "row_security", "select row_security_active('holdfast.patients')", 0};
    struct hfd_call call = {.statement = &statement};
    struct hfd_call *batch[] = {&call};
    struct hfd_store_error error = {0};
    bool again;
    const bool asked = hfd_connection_batch(connection, batch, 1, arena, &error, &again) == HFD_STORE_OK;
    *reason = asked ? "row security does not hold this role" : error.message;
    return asked && strcmp(hfd_cell(&call.rows, 0, 0), "t") == 0;
}

static bool opened(struct hfd_connection *connection, hf_arena *arena, const char **reason) {
    connection->pg = hfd_dial(connection->conninfo);
    PGconn *pg = connection->pg;
    if (PQstatus(pg) != CONNECTION_OK || PQsetnonblocking(pg, 1) != 0 || PQenterPipelineMode(pg) != 1) {
        *reason = hf_arena_strdup(arena, PQerrorMessage(pg));
        return false;
    }
    PQsetNoticeReceiver(pg, on_notice, connection);
    return under_row_security(connection, arena, reason);
}

static bool open_connection(struct hfd_connection *connection) {
    if (hfd_clock_monotonic_ns() < connection->retry_at_ns) return false;
    hf_arena arena;
    hf_arena_init(&arena, 1024, 0);
    const char *reason = NULL;
    const bool open = opened(connection, &arena, &reason);
    if (open && connection->backoff_ns > 0)
        hfd_log(HFD_LOG_INFO, "database reached again", HFD_LOG_TEXT("host", PQhost(connection->pg)));
    if (!open && connection->backoff_ns == 0)
        hfd_log(HFD_LOG_WARNING, "database not reached", HFD_LOG_TEXT("reason", reason));
    hf_arena_fini(&arena);
    if (open) {
        atomic_fetch_add_explicit(&connection->counters->opened, 1, memory_order_relaxed);
        connection->backoff_ns = 0;
        return true;
    }
    const int64_t longer = connection->backoff_ns == 0 ? BACKOFF_FIRST_NS : connection->backoff_ns * 2;
    connection->backoff_ns = longer < BACKOFF_LAST_NS ? longer : BACKOFF_LAST_NS;
    connection->retry_at_ns = hfd_clock_monotonic_ns() + connection->backoff_ns;
    hfd_connection_close(connection);
    return false;
}

static void lose(struct hfd_connection *connection) {
    atomic_fetch_add_explicit(&connection->counters->lost, 1, memory_order_relaxed);
    hfd_connection_close(connection);
}

/* An idle server says nothing: what can be read now is its goodbye, or the end of the stream. */
static bool still_there(PGconn *pg) {
    for (int i = 0; i < 4 && PQstatus(pg) == CONNECTION_OK; i++) {
        struct pollfd fd = {.fd = PQsocket(pg), .events = POLLIN};
        if (poll(&fd, 1, 0) <= 0) return i == 0; /* the end may follow its announcement late */
        if (!PQconsumeInput(pg)) return false;
    }
    return PQstatus(pg) == CONNECTION_OK;
}

bool hfd_connection_ready(struct hfd_connection *connection) {
    if (connection->pg != NULL && PQtransactionStatus(connection->pg) != PQTRANS_IDLE) {
        hfd_log(HFD_LOG_ERROR, "BUG: transaction left open",
            HFD_LOG_TEXT(
                "transaction", connection->transaction != NULL ? connection->transaction : "single batch"));
        hfd_connection_close(connection);
    }
    if (connection->pg != NULL && !still_there(connection->pg)) lose(connection);
    return connection->pg != NULL || open_connection(connection);
}

bool hfd_connection_in_transaction(const struct hfd_connection *connection) {
    const PGTransactionStatusType status = PQtransactionStatus(connection->pg);
    return status == PQTRANS_INTRANS || status == PQTRANS_INERROR;
}

void hfd_connection_mark(struct hfd_connection *connection, const char *transaction) {
    connection->transaction = transaction;
}

struct batch {
    struct hfd_connection *connection;
    hf_arena *arena;
    struct hfd_store_error *error;
    enum hfd_store_status status;
    bool again, drop;
    int64_t deadline_ns;
};

static const char *copy(hf_arena *arena, const char *text) {
    return text != NULL ? hf_arena_strdup(arena, text) : NULL;
}

/* Keeps the first failure. Of refused values (class 22) the message is left out: it quotes them. */
static void fail(struct batch *batch, const char *sqlstate, const char *message) {
    if (batch->status != HFD_STORE_OK) return;
    const struct hfd_failure failure = hfd_failure_of(sqlstate);
    batch->status = failure.status;
    batch->again = failure.again;
    batch->drop = failure.drop;
    memccpy(batch->error->sqlstate, sqlstate, '\0', sizeof batch->error->sqlstate - 1);
    const bool quotes = strncmp(sqlstate, "22", 2) == 0;
    batch->error->message = quotes ? "value refused" : copy(batch->arena, message);
}

static void fail_with(struct batch *batch, const PGresult *result) {
    if (batch->status != HFD_STORE_OK) return;
    const char *sqlstate = PQresultErrorField(result, PG_DIAG_SQLSTATE);
    if (sqlstate == NULL) { /* told by the library, not by the server */
        fail(batch, "08006", PQresultErrorMessage(result));
        return;
    }
    fail(batch, sqlstate, PQresultErrorField(result, PG_DIAG_MESSAGE_PRIMARY));
    batch->error->constraint = copy(batch->arena, PQresultErrorField(result, PG_DIAG_CONSTRAINT_NAME));
    batch->error->column = copy(batch->arena, PQresultErrorField(result, PG_DIAG_COLUMN_NAME));
}

#define TIMESTAMPTZ ((Oid)1184) /* PostgreSQL: pg_type.dat */
static const char no_time[] = "0000-00-00T00:00:00.000000Z";

/* "2026-03-02 08:05:09.5+00", as the settings of the connection have it, is told as RFC 3339 wants it, with
 * all six places: much cheaper here than by to_char(). False: it is none of these, as "infinity". */
static bool put_time(char *to, const char *from, size_t length) {
    if (length < 22 || length > 29 || from[10] != ' ' || strcmp(from + length - 3, "+00") != 0) return false;
    memcpy(to, no_time, sizeof no_time);
    memcpy(to, from, 10);
    memcpy(to + 11, from + 11, length - 14);
    return true;
}

static size_t room_for(const PGresult *result, int row, int column, bool time) {
    const size_t length = (size_t)PQgetlength(result, row, column) + 1;
    return time && length < sizeof no_time ? sizeof no_time : length;
}

/* Text cells in one block; PQgetvalue's texts die with the result. */
static void keep_rows(struct batch *batch, PGresult *result, struct hfd_rows *rows) {
    const int row_count = PQntuples(result), column_count = PQnfields(result);
    *rows = (struct hfd_rows){.row_count = (size_t)row_count, .column_count = (size_t)column_count};
    rows->affected = strtol(PQcmdTuples(result), NULL, 10);
    bool *times = HF_NEW_ARRAY(batch->arena, bool, rows->column_count);
    for (int column = 0; column < column_count; column++)
        times[column] = PQftype(result, column) == TIMESTAMPTZ;
    size_t bytes = 0;
    for (int row = 0; row < row_count; row++) {
        for (int column = 0; column < column_count; column++)
            bytes += room_for(result, row, column, times[column]);
    }
    const size_t cell_count = rows->row_count * rows->column_count;
    rows->cells = hf_arena_array(batch->arena, cell_count, sizeof *rows->cells);
    char *text = hf_arena_alloc(batch->arena, bytes);
    for (int row = 0; row < row_count; row++) {
        for (int column = 0; column < column_count; column++) {
            if (PQgetisnull(result, row, column)) continue;
            const char *value = PQgetvalue(result, row, column);
            const size_t length = (size_t)PQgetlength(result, row, column);
            if (!times[column] || !put_time(text, value, length)) memcpy(text, value, length + 1);
            rows->cells[(size_t)row * rows->column_count + (size_t)column] = text;
            text += room_for(result, row, column, times[column]);
        }
    }
}

/* False when there is nothing more to send. */
static bool send_call(struct batch *batch, const struct hfd_call *call, bool *preparing) {
    struct hfd_connection *connection = batch->connection;
    const struct hfd_statement *statement = call->statement;
    assert(statement->name[0] != '\0');
    *preparing = !hfd_names_has(&connection->prepared, statement->name);
    if (*preparing && !(PQsendPrepare(connection->pg, statement->name, statement->sql, 0, NULL) == 1 &&
                          hfd_names_add(&connection->prepared, statement->name)))
        return false;
    return PQsendQueryPrepared(
               connection->pg, statement->name, statement->param_count, call->params, NULL, NULL, 0) == 1;
}

/* The next result, NULL at the end of one command; false when connection or time are gone. */
static bool next_result(struct batch *batch) {
    struct hfd_connection *connection = batch->connection;
    PGconn *pg = connection->pg;
    PQclear(connection->result);
    connection->result = NULL;
    for (;;) {
        const int unsent = PQflush(pg);
        if (unsent < 0) return false;
        if (!PQisBusy(pg)) break;
        const int64_t left_ns = batch->deadline_ns - hfd_clock_monotonic_ns();
        struct pollfd fd = {.fd = PQsocket(pg), .events = (short)(POLLIN | (unsent > 0 ? POLLOUT : 0))};
        if (left_ns <= 0 || (poll(&fd, 1, (int)(left_ns / HFD_NS_PER_MS) + 1) < 0 && errno != EINTR))
            return false;
        if ((fd.revents & ~POLLOUT) != 0 && !PQconsumeInput(pg)) return false;
    }
    connection->result = PQgetResult(pg);
    return true;
}

/* All results of one command. */
static bool read_command(struct batch *batch, struct hfd_rows *rows, bool *done) {
    *done = false;
    while (next_result(batch)) {
        PGresult *result = batch->connection->result;
        if (result == NULL) return true;
        switch (PQresultStatus(result)) {
        case PGRES_TUPLES_OK:
        case PGRES_COMMAND_OK:
            *done = true;
            if (rows != NULL) keep_rows(batch, result, rows);
            break;
        case PGRES_PIPELINE_ABORTED:
            break;
        default:
            fail_with(batch, result);
        }
    }
    return false;
}

/* Up to the sync: a commit fails only there. */
static bool read_sync(struct batch *batch) {
    while (next_result(batch)) {
        const PGresult *result = batch->connection->result;
        if (result == NULL) continue;
        if (PQresultStatus(result) == PGRES_PIPELINE_SYNC) return true;
        fail_with(batch, result);
        if (PQstatus(batch->connection->pg) == CONNECTION_BAD) break;
    }
    return false;
}

static bool exchange(struct batch *batch, struct hfd_call *const *calls, size_t count, bool *preparing) {
    struct hfd_connection *connection = batch->connection;
    for (size_t i = 0; i < count; i++) {
        calls[i]->rows = (struct hfd_rows){0};
        if (!send_call(batch, calls[i], &preparing[i])) return false;
    }
    if (PQpipelineSync(connection->pg) != 1) return false;
    for (size_t i = 0; i < count; i++) {
        bool done;
        if (preparing[i]) {
            if (!read_command(batch, NULL, &done)) return false;
            if (!done) hfd_names_remove(&connection->prepared, calls[i]->statement->name);
        }
        if (!read_command(batch, &calls[i]->rows, &done)) return false;
    }
    return read_sync(batch);
}

/* A backend that waits for a standby does not notice that nobody listens any more: untold, each such wait
 * would hold one of the server's connections until the standby is back. */
static void abandon(struct hfd_connection *connection) {
    char ignored[256];
    PGcancel *cancel = PQgetCancel(connection->pg);
    atomic_fetch_add_explicit(&connection->counters->late, 1, memory_order_relaxed);
    if (cancel != NULL) PQcancel(cancel, ignored, sizeof ignored);
    PQfreeCancel(cancel);
}

enum hfd_store_status hfd_connection_batch(struct hfd_connection *connection, struct hfd_call *const *calls,
    size_t count, hf_arena *arena, struct hfd_store_error *error, bool *again) {
    assert(connection->pg != NULL);
    struct batch batch = {.connection = connection, .arena = arena, .error = error};
    batch.deadline_ns = hfd_clock_monotonic_ns() + BATCH_LIMIT_NS;
    connection->unconfirmed = false;
    bool *preparing = HF_NEW_ARRAY(arena, bool, count);
    const bool complete = exchange(&batch, calls, count, preparing);
    PQclear(connection->result);
    connection->result = NULL;
    if (!complete) {
        const bool late = hfd_clock_monotonic_ns() >= batch.deadline_ns;
        if (late) abandon(connection);
        fail(&batch, "08006", late ? "no answer in time" : PQerrorMessage(connection->pg));
        batch.drop = true;
    } else if (connection->unconfirmed) {
        fail(&batch, "08007", "committed, but perhaps not on the standby");
    }
    if (batch.drop) lose(connection);
    *again = batch.again;
    return batch.status;
}
