/* One connection: opened when needed, non-blocking, always in pipeline mode, with a time limit on everything.
 * Knows batches of prepared statements, not sessions. */
#ifndef HFD_CONNECTION_H
#define HFD_CONNECTION_H

#include "store.h"

struct hfd_connection;

struct hfd_connection *hfd_connection_new(const char *conninfo);
void hfd_connection_count(struct hfd_connection *connection, struct hfd_store_counters *counters);
void hfd_connection_free(struct hfd_connection *connection);

/* Open and idle, or false. Opens a lost connection again; while the server stays away, most calls fail at
 * once. */
bool hfd_connection_ready(struct hfd_connection *connection);
bool hfd_connection_in_transaction(const struct hfd_connection *connection);
void hfd_connection_close(struct hfd_connection *connection);
/* Name of the transaction that is open now, NULL at its end: told in the log when it is ever found left open.
 */
void hfd_connection_mark(struct hfd_connection *connection, const char *transaction);

/* All calls in one round trip with one sync; outside BEGIN they are one transaction. The first failure is
 * told in `error`, the calls after it are not executed. *again: rolled back for reasons of timing, worth
 * another try. */
enum hfd_store_status hfd_connection_batch(struct hfd_connection *connection, struct hfd_call *const *calls,
    size_t count, hf_arena *arena, struct hfd_store_error *error, bool *again);

#endif
