/* Idempotency-Key: a retried POST gets the reply of the first one and writes nothing. A reply is kept for 24
 * hours, in the transaction of what it reports: there is no moment at which only one of them is there. */
#ifndef HFD_IDEMPOTENCY_H
#define HFD_IDEMPOTENCY_H

#include "resource.h"

#define HFD_IDEMPOTENCY_KEY_MAX 128

struct hfd_idempotency {
    const char *key;    /* NULL: none was sent */
    const char *digest; /* of the body */
};

/* The field's value, a structured string ("…") or bare, as the bare key. NULL: not 1 to 128 visible ASCII
 * characters. */
const char *hfd_idempotency_key(const char *field, hf_arena *arena);

/* Reads the key of a POST. */
enum hfd_problem_kind hfd_idempotency_read(struct hfd_op *op, struct hfd_idempotency *out);

/* Inside a transaction, before the work: HFD_OK and *replayed when op->reply is the kept reply. */
enum hfd_problem_kind hfd_idempotency_claim(
    struct hfd_op *op, const struct hfd_idempotency *idempotency, bool *replayed);
/* After the work: keeps op->reply with its fields from `first_header` on. */
enum hfd_problem_kind hfd_idempotency_keep(
    struct hfd_op *op, const struct hfd_idempotency *idempotency, size_t first_header);

#endif
