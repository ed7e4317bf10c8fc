/* What a request leaves in the audit: who did what, with which records of which patients. A write leaves its
 * row beside the row it writes, a refusal in a transaction of its own. A read hands its trace on with the
 * reply, which waits until the trace is kept: those of several reads are written together. */
#ifndef HFD_TRACE_H
#define HFD_TRACE_H

#include "op.h"

/* Is op a read of patients' data that has left no trace yet? */
bool hfd_trace_is_due(const struct hfd_op *op);
/* What op does, in a word: a route that writes is called by the end of its path. */
const char *hfd_trace_action(const struct hfd_op *op);
/* The statement that notes `action` on the record `id` (NULL: on none in particular) under `path`. */
struct hfd_call hfd_trace_call(const struct hfd_op *op, const char *action, const char *path, const char *id);
/* Looks up whom the record is about that op names (in column 0; no row: it is not there). NULL: it names
 * none. */
const struct hfd_statement *hfd_trace_subject(const struct hfd_op *op);
/* Leaves the trace of a read with the reply; `subject` is what that statement found, NULL when there is none.
 */
void hfd_trace_told(struct hfd_op *op, const struct hfd_rows *subject);
/* hfd_op_run of a read whose first call finds the rows that it will show, `most` of them at most, by the
 * select list of op's texts. */
enum hfd_problem_kind hfd_trace_run(struct hfd_op *op, struct hfd_call *calls, size_t count, size_t most);
/* Writes the traces of reads into the audit, all in one transaction. False: they may not be there. */
bool hfd_trace_keep(struct hfd_store *store, const struct hfd_trace *const *traces, size_t count);
/* In a transaction of its own: op was not let in, or found nothing. */
void hfd_trace_refusal(struct hfd_op *op, enum hfd_problem_kind kind);

#endif
