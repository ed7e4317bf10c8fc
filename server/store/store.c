#include "store.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "../base/clock.h"
#include "connection.h"
#include "migrations.h"

#define RUNS_AGAIN 3

struct hfd_store {
    struct hfd_connection *connection;
};

/* Read committed throughout: what must hold between rows is held by constraints, row locks and the version
 * checks of the statements themselves, and requests of one clinic wait for each other rather than fail. */
static const struct hfd_statement begin = {"begin", "begin", 0};
static const struct hfd_statement commit = {"commit", "commit", 0};
static const struct hfd_statement rollback = {"rollback", "rollback", 0};
static const struct hfd_statement save = {"save", "savepoint place", 0};
static const struct hfd_statement give_up = {"give_up", "release savepoint place", 0};
static const struct hfd_statement go_back = {"go_back", "rollback to savepoint place", 0};
static const struct hfd_statement authenticate = {"authenticate",
    "select clinic_id, token_id, role, set_config('app.request', coalesce($3, ''), true) "
    "from holdfast.authenticate(decode($1, 'hex'), $2::text[])",
    3};
static const struct hfd_statement applied = {
    "applied_migrations", "select name, sha256 from holdfast.schema_migrations order by name", 0};

struct hfd_store *hfd_store_new(const char *conninfo) {
    struct hfd_store *store = malloc(sizeof *store);
    if (store == NULL) return NULL;
    store->connection = hfd_connection_new(conninfo);
    if (store->connection == NULL) {
        free(store);
        return NULL;
    }
    return store;
}

void hfd_store_count(struct hfd_store *store, struct hfd_store_counters *counters) {
    hfd_connection_count(store->connection, counters);
}

void hfd_store_free(struct hfd_store *store) {
    if (store == NULL) return;
    hfd_connection_free(store->connection);
    free(store);
}

static enum hfd_store_status out_of_reach(struct hfd_store_error *error) {
    *error = (struct hfd_store_error){.sqlstate = "08001", .message = "no connection"};
    return HFD_STORE_DOWN;
}

static void keep_session(struct hfd_session *session, const struct hfd_rows *rows) {
    assert(rows->row_count == 1 && rows->column_count == 4);
    memccpy(session->clinic_id, hfd_cell(rows, 0, 0), '\0', sizeof session->clinic_id);
    memccpy(session->token_id, hfd_cell(rows, 0, 1), '\0', sizeof session->token_id);
    memccpy(session->role, hfd_cell(rows, 0, 2), '\0', sizeof session->role);
}

/* `first` (or NULL), authentication, the calls, `last` (or NULL). */
static enum hfd_store_status enter(struct hfd_store *store, struct hfd_session *session,
    const struct hfd_statement *first, struct hfd_call *calls, size_t count, const struct hfd_statement *last,
    hf_arena *arena, struct hfd_store_error *error, bool *again) {
    const char *params[] = {session->digest_hex, session->roles, session->request};
    struct hfd_call opening = {.statement = first}, closing = {.statement = last},
                    who = {.statement = &authenticate, .params = params};
    struct hfd_call **batch = HF_NEW_ARRAY(arena, struct hfd_call *, count + 3);
    size_t used = 0;
    if (first != NULL) batch[used++] = &opening;
    batch[used++] = &who;
    for (size_t i = 0; i < count; i++)
        batch[used++] = &calls[i];
    if (last != NULL) batch[used++] = &closing;
    *error = (struct hfd_store_error){0};
    const enum hfd_store_status status =
        hfd_connection_batch(store->connection, batch, used, arena, error, again);
    if (status == HFD_STORE_OK) keep_session(session, &who.rows);
    return status;
}

enum hfd_store_status hfd_store_run(struct hfd_store *store, struct hfd_session *session,
    struct hfd_call *calls, size_t count, hf_arena *arena, struct hfd_store_error *error) {
    for (int run = 0;; run++) {
        if (!hfd_connection_ready(store->connection)) return out_of_reach(error);
        bool again;
        const enum hfd_store_status status =
            enter(store, session, NULL, calls, count, NULL, arena, error, &again);
        if (status == HFD_STORE_OK || !again || run == RUNS_AGAIN) return status;
    }
}

enum hfd_store_status hfd_store_alone(
    struct hfd_store *store, struct hfd_call *call, hf_arena *arena, struct hfd_store_error *error) {
    struct hfd_call *batch[] = {call};
    for (int run = 0;; run++) {
        if (!hfd_connection_ready(store->connection)) return out_of_reach(error);
        bool again;
        *error = (struct hfd_store_error){0};
        const enum hfd_store_status status =
            hfd_connection_batch(store->connection, batch, 1, arena, error, &again);
        if (status == HFD_STORE_OK || !again || run == RUNS_AGAIN) return status;
    }
}

struct hfd_tx {
    struct hfd_store *store;
    struct hfd_session *session;
    hf_arena *arena;
    struct hfd_store_error *error;
    enum hfd_store_status status;
    bool begun, ended; /* the beginning travels with the first calls, the commit with the last ones */
    bool again, saved;
};

static bool run_in(
    struct hfd_tx *tx, struct hfd_call *calls, size_t count, const struct hfd_statement *last) {
    if (tx->status != HFD_STORE_OK) return false;
    assert(!tx->ended);
    tx->ended = last != NULL;
    if (!tx->begun) {
        tx->begun = true;
        tx->status =
            enter(tx->store, tx->session, &begin, calls, count, last, tx->arena, tx->error, &tx->again);
        return tx->status == HFD_STORE_OK;
    }
    struct hfd_call closing = {.statement = last};
    struct hfd_call **batch = HF_NEW_ARRAY(tx->arena, struct hfd_call *, count + 1);
    for (size_t i = 0; i < count; i++)
        batch[i] = &calls[i];
    batch[count] = &closing;
    tx->status = hfd_connection_batch(
        tx->store->connection, batch, last != NULL ? count + 1 : count, tx->arena, tx->error, &tx->again);
    return tx->status == HFD_STORE_OK;
}

bool hfd_tx_run(struct hfd_tx *tx, struct hfd_call *calls, size_t count) {
    return run_in(tx, calls, count, NULL);
}

bool hfd_tx_run_last(struct hfd_tx *tx, struct hfd_call *calls, size_t count) {
    return run_in(tx, calls, count, &commit);
}

bool hfd_tx_save(struct hfd_tx *tx) {
    struct hfd_call calls[2] = {{.statement = &give_up}, {.statement = &save}};
    const size_t first = tx->saved ? 0 : 1;
    tx->saved = true;
    return hfd_tx_run(tx, calls + first, 2 - first);
}

bool hfd_tx_undo(struct hfd_tx *tx, enum hfd_store_status *status, struct hfd_store_error *error) {
    if (tx->again || !tx->saved || !hfd_connection_in_transaction(tx->store->connection)) return false;
    *status = tx->status;
    *error = *tx->error;
    tx->status = HFD_STORE_OK;
    *tx->error = (struct hfd_store_error){0};
    struct hfd_call call = {.statement = &go_back};
    return hfd_tx_run(tx, &call, 1);
}

/* A connection that cannot even roll back is found by the next hfd_connection_ready(). */
static void take_back(struct hfd_tx *tx) {
    struct hfd_call call = {.statement = &rollback};
    struct hfd_call *batch[] = {&call};
    struct hfd_store_error ignored = {0};
    bool again;
    hfd_connection_batch(tx->store->connection, batch, 1, tx->arena, &ignored, &again);
}

/* A body that asked for nothing is told all the same when the token is not in force. */
static void transact_once(struct hfd_tx *tx, hfd_tx_body *body, void *ctx) {
    const bool good = body(tx, ctx);
    if (!tx->begun || (good && !tx->ended)) run_in(tx, NULL, 0, good ? &commit : NULL);
    if (hfd_connection_in_transaction(tx->store->connection)) take_back(tx);
}

/* Whoever it collided with shall be through: else both meet at the same rows again. */
static void make_way(int run) {
    const struct timespec pause = {.tv_nsec = (long)(10 * HFD_NS_PER_MS) << 2 * run};
    nanosleep(&pause, NULL);
}

enum hfd_store_status hfd_store_transact(struct hfd_store *store, struct hfd_session *session,
    const char *name, hfd_tx_body *body, void *ctx, hf_arena *arena, struct hfd_store_error *error) {
    for (int run = 0;; run++) {
        if (!hfd_connection_ready(store->connection)) return out_of_reach(error);
        struct hfd_tx tx = {.store = store, .session = session, .arena = arena, .error = error};
        hfd_connection_mark(store->connection, name);
        transact_once(&tx, body, ctx);
        hfd_connection_mark(store->connection, NULL);
        if (tx.status == HFD_STORE_OK || !tx.again || run == RUNS_AGAIN) return tx.status;
        make_way(run);
    }
}

/* Every migration of this program is applied as it stands here, and no other. */
static bool same_schema(const struct hfd_rows *rows) {
    const struct hfd_migration *const lists[] = {hfd_migrations, hfd_migrations_always};
    size_t known = 0;
    for (size_t list = 0; list < 2; list++) {
        for (const struct hfd_migration *migration = lists[list]; migration->name != NULL;
             migration++, known++) {
            size_t row = 0;
            while (row < rows->row_count && strcmp(hfd_cell(rows, row, 0), migration->name) != 0)
                row++;
            if (row == rows->row_count || strcmp(hfd_cell(rows, row, 1), migration->sha256) != 0)
                return false;
        }
    }
    return known == rows->row_count;
}

bool hfd_store_ready(struct hfd_store *store) {
    if (!hfd_connection_ready(store->connection)) return false;
    hf_arena arena;
    hf_arena_init(&arena, 4096, 0);
    struct hfd_call call = {.statement = &applied};
    struct hfd_call *batch[] = {&call};
    struct hfd_store_error error = {0};
    bool again;
    const bool ready =
        hfd_connection_batch(store->connection, batch, 1, &arena, &error, &again) == HFD_STORE_OK &&
        same_schema(&call.rows);
    hf_arena_fini(&arena);
    return ready;
}
