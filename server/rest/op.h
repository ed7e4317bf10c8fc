/* What the engine's operations share. */
#ifndef HFD_OP_H
#define HFD_OP_H

#include "resource.h"
#include "texts.h"

hfd_operation hfd_op_list, hfd_op_read, hfd_op_create, hfd_op_change, hfd_op_batch, hfd_op_import;

/* What op's creation of a row comes to, for a resource without rules: to be run with others in one round
 * trip. Or what is wrong with its body. */
enum hfd_problem_kind hfd_op_create_calls(struct hfd_op *op, struct hfd_call calls[2]);

/* What a transaction does: fills op->reply, or refuses and is rolled back. May run several times. */
typedef enum hfd_problem_kind hfd_work(struct hfd_op *op, void *ctx);
/* Runs `work` in one transaction, or within op's own when it has one. A reply to a POST that carries an
 * Idempotency-Key is kept in the same transaction, and replayed instead when it stands there already. */
enum hfd_problem_kind hfd_op_transact(struct hfd_op *op, const char *name, hfd_work *work, void *ctx);

/* Tells what the store refused in the words of the service. */
enum hfd_problem_kind hfd_op_refusal(
    struct hfd_op *op, enum hfd_store_status status, const struct hfd_store_error *error);
/* Replies with one row: its JSON and its ETag. */
void hfd_op_row(struct hfd_op *op, int status, const char *const *cells);
/* The same with a secret of ours in one more member: told in this reply alone. */
void hfd_op_row_and(
    struct hfd_op *op, int status, const char *const *cells, const char *member, const char *secret);
/* True: the client wants no body back, and the reply has this status and none. */
bool hfd_op_minimal(struct hfd_op *op, int status);
/* ETag of a row. */
const char *hfd_op_etag(const struct hfd_resource *resource, const char *const *cells, hf_arena *arena);
/* The day asked for by ?on=, NULL when there is none. False: it is no date, an error was added. */
bool hfd_op_day(struct hfd_op *op, const char **on);
/* Which of the words (NULL-ended) the query parameter says; left out: the first. False: none, an error was
 * added. */
bool hfd_op_choice(struct hfd_op *op, const char *name, const char *const *words, size_t *choice);
/* Is there a body of one of these types (NULL-ended)? Else the refusal, with the field that names what is
 * taken. */
enum hfd_problem_kind hfd_op_body(
    struct hfd_op *op, const char *const *media_types, const char *accept_field);

#endif
