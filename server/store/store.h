/* The only door to PostgreSQL. One struct hfd_store = one connection, owned by one thread for life. Rows and
 * text cells, no JSON, no HTTP. A connection that was lost is opened again on the next call. */
#ifndef HFD_STORE_H
#define HFD_STORE_H

#include <stdatomic.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "../../core/arena.h"

struct hfd_store;

enum hfd_store_status {
    HFD_STORE_OK,
    HFD_STORE_UNAUTHENTICATED, /* token unknown, expired, revoked */
    HFD_STORE_FORBIDDEN,       /* its role is not among the allowed ones */
    HFD_STORE_UNIQUE,          /* 23505 */
    HFD_STORE_REFERENCE,       /* 23503 */
    HFD_STORE_CHECK,           /* 23514, 22xxx: a value the tables refuse */
    HFD_STORE_DOWN,            /* no connection, shutting down, too many clients, time limit */
    HFD_STORE_ERROR            /* anything else: a bug of ours */
};

/* Prepared on first use per connection, under `name`. */
struct hfd_statement {
    const char *name, *sql;
    int param_count;
};

/* Result: text cells, NULL = SQL NULL; memory in the arena of the call. Times with zone are told as RFC 3339
 * in UTC to the microsecond: 2026-03-02T08:05:09.500000Z. */
struct hfd_rows {
    size_t row_count, column_count;
    const char **cells; /* row-major */
    long affected;      /* of INSERT, UPDATE, DELETE */
};

static inline const char *hfd_cell(const struct hfd_rows *rows, size_t row, size_t column) {
    return rows->cells[row * rows->column_count + column];
}

struct hfd_call {
    const struct hfd_statement *statement;
    const char *const *params; /* text format, NULL = SQL NULL */
    struct hfd_rows rows;      /* out */
};

/* Who asks. `digest_hex` is the SHA-256 of the bearer token; `roles` the allowed ones, as a PostgreSQL text
 * array literal "{clinician,admin}". The database function authenticate() checks both and sets the tenant for
 * this transaction only, in the same round trip as the calls. */
struct hfd_session {
    const char *digest_hex, *roles;
    const char *request; /* its id, for what the tables note of a change; NULL: none */
    /* out */
    char clinic_id[37], token_id[37];
    char role[32];
};

struct hfd_store_error {
    char sqlstate[6];
    const char *constraint; /* name, or NULL */
    const char *column;     /* or NULL */
    const char *message;    /* for the log, never for a client */
};

/* Of all stores that were given it. */
struct hfd_store_counters {
    _Atomic uint64_t opened, lost, late; /* connections made; found broken; given up after the time limit */
};

/* Opens nothing yet. `conninfo` is borrowed. */
struct hfd_store *hfd_store_new(const char *conninfo);
/* Borrowed; for the numbers that operators watch. */
void hfd_store_count(struct hfd_store *store, struct hfd_store_counters *counters);
void hfd_store_free(struct hfd_store *store);
/* True when the server answers and its schema is the one this program was built with. */
bool hfd_store_ready(struct hfd_store *store);

/* One transaction, one round trip: authenticate, then all calls, pipelined with one sync. Any failure rolls
 * everything back. */
enum hfd_store_status hfd_store_run(struct hfd_store *store, struct hfd_session *session,
    struct hfd_call *calls, size_t count, hf_arena *arena, struct hfd_store_error *error);

/* One call as nobody: outside any clinic, for functions of the schema that need none. */
enum hfd_store_status hfd_store_alone(
    struct hfd_store *store, struct hfd_call *call, hf_arena *arena, struct hfd_store_error *error);

/* A transaction of several steps: `body`, then commit when it returns true (else roll back, status
 * HFD_STORE_OK all the same). Begin and authenticate go with the first calls of the body, and `session` is
 * filled by them. Serialisation failures and deadlocks run `body` again, at most 3 times. */
struct hfd_tx;
typedef bool hfd_tx_body(struct hfd_tx *tx, void *ctx);
enum hfd_store_status hfd_store_transact(struct hfd_store *store, struct hfd_session *session,
    const char *name, hfd_tx_body *body, void *ctx, hf_arena *arena, struct hfd_store_error *error);
/* Calls inside: pipelined with one sync. After a failure body must return false; the status is kept. */
bool hfd_tx_run(struct hfd_tx *tx, struct hfd_call *calls, size_t count);
/* The same and, when none of them fails, the commit, without a way of its own. Only `return true` may follow.
 */
bool hfd_tx_run_last(struct hfd_tx *tx, struct hfd_call *calls, size_t count);

/* A place to come back to when what follows fails; the place before it is given up. */
bool hfd_tx_save(struct hfd_tx *tx);
/* After a failure: takes back what was done since then, tells the failure and forgets it, so that the body
 * may go on. False: it cannot, as when the transaction has to run again as a whole. */
bool hfd_tx_undo(struct hfd_tx *tx, enum hfd_store_status *status, struct hfd_store_error *error);

#endif
