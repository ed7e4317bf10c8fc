/* One transaction for what an operation does, and for the reply that reports it. */
#include "idempotency.h"
#include "op.h"
#include "trace.h"

struct transaction {
    struct hfd_op *op;
    hfd_work *work;
    void *ctx;
    struct hfd_idempotency idempotency;
    size_t headers; /* of the reply before the work */
    enum hfd_problem_kind kind;
};

/* As if nothing had been done yet: the body may run again. */
static void begin_anew(struct transaction *t) {
    struct hfd_op *op = t->op;
    hfd_errors_init(&op->errors, op->arena);
    op->detail = NULL;
    op->reply->header_count = t->headers;
    op->reply->status = 0;
    op->reply->content_type = op->reply->body = NULL;
    op->reply->body_len = 0;
}

static bool body(struct hfd_tx *tx, void *ctx) {
    struct transaction *t = ctx;
    begin_anew(t);
    t->op->tx = tx;
    bool replayed;
    t->kind = hfd_idempotency_claim(t->op, &t->idempotency, &replayed);
    if (t->kind == HFD_OK && replayed) {
        struct hfd_call trace = hfd_trace_call(t->op, "replay", t->op->path, t->op->id);
        t->kind = hfd_op_run(t->op, &trace, 1);
    } else if (t->kind == HFD_OK) {
        t->kind = t->work(t->op, t->ctx);
        if (t->kind == HFD_OK) t->kind = hfd_idempotency_keep(t->op, &t->idempotency, t->headers);
    }
    t->op->tx = NULL;
    return t->kind == HFD_OK && !t->op->rehearsal;
}

enum hfd_problem_kind hfd_op_transact(struct hfd_op *op, const char *name, hfd_work *work, void *ctx) {
    if (op->tx != NULL) return work(op, ctx);
    struct transaction t = {.op = op, .work = work, .ctx = ctx, .headers = op->reply->header_count};
    enum hfd_problem_kind kind = hfd_idempotency_read(op, &t.idempotency);
    if (kind != HFD_OK) return hfd_op_refuse(op, kind);
    struct hfd_store_error error = {0};
    enum hfd_store_status status =
        hfd_store_transact(op->store, &op->session, name, body, &t, op->arena, &error);
    if (status == HFD_STORE_OK && t.kind == HFD_OK) return HFD_OK;
    op->reply->header_count = t.headers;
    return status == HFD_STORE_OK ? t.kind : hfd_op_refusal(op, status, &error);
}
