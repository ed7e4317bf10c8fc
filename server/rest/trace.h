/* What a request leaves in the audit: who did what, with which records of which patients. Reads leave their
 * trace with their first statements, in the same round trip; a list within its own statement; a write beside
 * the row it writes. */
#ifndef HFD_TRACE_H
#define HFD_TRACE_H

#include "op.h"

/* Is op a read of patients' data that has left no trace yet? */
bool hfd_trace_is_due(const struct hfd_op *op);
/* What op does, in a word: a route that writes is called by the end of its path. */
const char *hfd_trace_action(const struct hfd_op *op);
/* The statement that notes `action` on the record `id` (NULL: on none in particular) under `path`. */
struct hfd_call hfd_trace_call(const struct hfd_op *op, const char *action, const char *path, const char *id);
/* The statement of a list: `page` (a query whose first column is the id; it asks for one row more than
 * `limit` names) together with the trace of the rows it shows. `from` is the parameter number of path and
 * request, in this order. */
const char *hfd_trace_list(const struct hfd_op *op, const char *page, int limit, int from);
/* In a transaction of its own: op was not let in, or found nothing. */
void hfd_trace_refusal(struct hfd_op *op, enum hfd_problem_kind kind);

#endif
