#include "rest.h"

#include <stdlib.h>
#include <string.h>

#include "../auth/browser.h"
#include "../base/clock.h"
#include "../base/form.h"
#include "../base/log.h"
#include "../pages/refusal.h"
#include "negotiate.h"
#include "op.h"
#include "route.h"
#include "trace.h"

struct worker {
    struct hfd_store *store;
    hf_arena arena; /* of the texts */
    struct hfd_texts *texts;
    struct hfd_rest_config config;
};

void *hfd_rest_worker_new(const struct hfd_rest_config *config) {
    struct worker *w = calloc(1, sizeof *w);
    if (w == NULL) return NULL;
    hf_arena_init(&w->arena, 32768, 0);
    const char *fault = hfd_rest_check(hfd_resources, &w->arena);
    if (fault != NULL) hfd_log(HFD_LOG_ERROR, "resource not fit to serve", HFD_LOG_TEXT("why", fault));
    w->store = fault == NULL ? hfd_store_new(config->conninfo) : NULL;
    if (w->store == NULL) {
        hfd_rest_worker_free(w);
        return NULL;
    }
    hfd_store_count(w->store, config->counters);
    w->config = *config;
    w->texts = hfd_texts_new(hfd_resources, &w->arena);
    return w;
}

void hfd_rest_worker_free(void *worker) {
    struct worker *w = worker;
    if (w == NULL) return;
    if (w->store != NULL) hfd_store_free(w->store);
    hf_arena_fini(&w->arena);
    free(w);
}

/* A browser without a session is led to where it gets one, and from there back to what it asked for. */
static enum hfd_problem_kind sign_in_first(struct hfd_op *op) {
    struct hfd_buf path;
    hfd_buf_init(&path, op->arena, 256);
    hfd_buf_text(&path, "/sign-in?next=");
    hfd_buf_percent(&path, op->request->target);
    return hfd_op_see_other(op, path.text);
}

static void refuse(struct hfd_op *op, enum hfd_problem_kind kind) {
    struct hfd_reply *reply = op->reply;
    bool reads = op->request->method == HFD_GET || op->request->method == HFD_HEAD,
         bearer = hfd_request_header(op->request, "authorization") != NULL;
    if (kind == HFD_UNAUTHENTICATED && op->wants_page && reads && !bearer) {
        sign_in_first(op);
        return;
    }
    if (kind == HFD_UNAUTHENTICATED) hfd_reply_header(reply, "WWW-Authenticate", "Bearer");
    if (kind == HFD_DATABASE_UNAVAILABLE || kind == HFD_OVERLOADED || kind == HFD_IDEMPOTENCY_IN_PROGRESS)
        hfd_reply_header(reply, "Retry-After", "1");
    if (op->wants_page) {
        struct hfd_buf page;
        hfd_buf_init(&page, op->arena, 4096);
        hfd_refusal_page(&page, kind, op->detail, op->request, &op->errors);
        hfd_op_page(op, &page, false);
    } else {
        reply->content_type = "application/problem+json";
        reply->body = hfd_problem_text(kind, op->detail, op->request, &op->errors, &reply->body_len);
    }
    reply->status = hfd_problem_rows[kind].status;
}

static bool is_named(const char *const *names, const char *name) {
    for (; names != NULL && *names != NULL; names++) {
        bool any = strcmp(*names, HFD_POINTERS) == 0;
        if (any ? *name == '/' : strcmp(*names, name) == 0) return true;
    }
    return false;
}

/* Routes name their query parameters; lists check their own. */
static bool takes_query(struct hfd_op *op, const struct hfd_match *match) {
    if (match->operation == hfd_op_list) return true;
    for (size_t i = 0; i < op->request->query_count; i++) {
        const char *name = op->request->query[i].name;
        if (!is_named(match->query, name))
            hfd_errors_add(
                &op->errors, hf_arena_printf(op->arena, "?%s", name), "There is no such parameter.");
        else if (hfd_request_query(op->request, name) != op->request->query[i].value)
            hfd_errors_add(&op->errors, hf_arena_printf(op->arena, "?%s", name), "Told twice.");
    }
    return op->errors.count == 0;
}

/* By a token, or by the session of a browser; a request that has an Authorization field means that. */
static enum hfd_problem_kind read_credentials(struct hfd_op *op) {
    const struct hfd_request *request = op->request;
    const char *authorization = hfd_request_header(request, "authorization");
    char *digest = hf_arena_alloc(op->arena, HFD_TOKEN_DIGEST_SIZE);
    op->by_cookie = authorization == NULL && hfd_session_digest(request, op->config->secure, digest);
    if (!op->by_cookie && !hfd_token_digest(authorization, digest)) {
        op->detail = "Send the access token as \"Authorization: Bearer hf_…\".";
        return HFD_UNAUTHENTICATED;
    }
    bool reads = request->method == HFD_GET || request->method == HFD_HEAD;
    if (op->by_cookie && !reads && !hfd_same_origin(request)) return HFD_CROSS_SITE;
    op->session.digest_hex = digest;
    return HFD_OK;
}

/* Before the token is looked up, so that a client that asks too much costs no database. */
static enum hfd_problem_kind spend(struct hfd_op *op, struct hfd_limiter *limiter) {
    if (limiter == NULL || op->request->continues != NULL) return HFD_OK;
    char leading[17] = "";
    memcpy(leading, op->session.digest_hex, sizeof leading - 1);
    struct hfd_budget budget =
        hfd_limiter_take(limiter, strtoull(leading, NULL, 16), hfd_clock_monotonic_ns());
    hfd_reply_header(op->reply, "RateLimit-Policy",
        hf_arena_printf(op->arena, "\"default\";q=%ld;w=%d", budget.quota, HFD_LIMITER_WINDOW_S));
    hfd_reply_header(op->reply, "RateLimit",
        hf_arena_printf(op->arena, "\"default\";r=%ld;t=%ld", budget.left, budget.full_s));
    if (budget.allowed) return HFD_OK;
    hfd_reply_header(op->reply, "Retry-After", hf_arena_printf(op->arena, "%ld", budget.retry_s));
    return HFD_RATE_LIMITED;
}

/* Who takes anything is a program. */
static bool wants_page(const char *accept, hf_arena *arena) {
    const char *best = hfd_accept_best(accept, "application/problem+json, text/html", arena);
    return best != NULL && strcmp(best, "text/html") == 0;
}

static enum hfd_problem_kind answer(struct hfd_op *op, const struct worker *w) {
    struct hfd_match match;
    hfd_route_match(hfd_resources, op->request, op->arena, &match);
    op->reply->route = match.route;
    const char *accept = match.wanted ? match.wanted : hfd_request_header(op->request, "accept");
    op->wants_page = wants_page(accept, op->arena);
    if (match.allow == NULL) return HFD_NOT_FOUND;
    if (match.operation == NULL) {
        hfd_reply_header(op->reply, "Allow", match.allow);
        if (op->request->method != HFD_OPTIONS) return HFD_METHOD_NOT_ALLOWED;
        if (strstr(match.allow, "POST")) hfd_reply_header(op->reply, "Accept-Post", "application/json");
        if (strstr(match.allow, "PATCH"))
            hfd_reply_header(op->reply, "Accept-Patch", "application/merge-patch+json, application/json");
        op->reply->status = 204;
        return HFD_OK;
    }
    op->resource = hfd_resources[match.resource];
    op->texts = &w->texts[match.resource];
    op->id = match.id;
    op->path = match.path;
    if (match.roles != HFD_PUBLIC) {
        enum hfd_problem_kind kind = read_credentials(op);
        if (kind != HFD_OK) return kind;
        op->session.roles = match.roles;
        kind = spend(op, w->config.limiter);
        if (kind != HFD_OK) return kind;
    }
    op->produces = hfd_accept_best(accept, match.produces, op->arena);
    if (op->produces == NULL) {
        op->detail = hf_arena_printf(op->arena, "This is offered as %s.", match.produces);
        return HFD_NOT_ACCEPTABLE;
    }
    if (strchr(match.produces, ',') != NULL) hfd_reply_header(op->reply, "Vary", "Accept");
    if (!takes_query(op, &match))
        return match.roles == HFD_PUBLIC ? HFD_BAD_REQUEST : hfd_op_refuse(op, HFD_BAD_REQUEST);
    return match.page != NULL && hfd_op_produces(op, "text/html") ? match.page(op) : match.operation(op);
}

void hfd_rest_handle(void *worker, struct hfd_request *request, struct hfd_reply *reply) {
    struct worker *w = worker;
    struct hfd_op op = {.store = w->store,
        .request = request,
        .reply = reply,
        .arena = request->arena,
        .config = &w->config,
        .session = {.request = request->id},
        .all_texts = w->texts};
    hfd_errors_init(&op.errors, request->arena);
    enum hfd_problem_kind kind = answer(&op, w);
    if (kind == HFD_OK) return;
    hfd_trace_refusal(&op, kind);
    refuse(&op, kind);
}
