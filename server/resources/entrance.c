/* The start page, signing in and out. */
#include "../pages/entrance.h"

#include <string.h>

#include "../auth/browser.h"
#include "../base/clock.h"
#include "../base/digest.h"
#include "../base/form.h"
#include "../base/limiter.h"
#include "../base/secret.h"
#include "../rest/rest.h"
#include "../rest/trace.h"

static enum hfd_problem_kind start(struct hfd_op *op) {
    struct hfd_buf page;
    hfd_buf_init(&page, op->arena, 8192);
    hfd_start_page(&page);
    return hfd_op_page(op, &page, false);
}

static enum hfd_problem_kind lead_to_worklist(struct hfd_op *op) {
    return hfd_op_see_other(op, "/v1/worklist.html");
}

/* Where to go when signed in: what was asked for, if it is of this server. */
static const char *destination(const char *next) {
    return next != NULL && hfd_is_local_path(next) ? next : "/worklist";
}

static enum hfd_problem_kind show_form(struct hfd_op *op, const char *next, const char *refused) {
    struct hfd_buf page;
    hfd_buf_init(&page, op->arena, 4096);
    hfd_sign_in_page(&page, destination(next), refused);
    return hfd_op_page(op, &page, false);
}

static enum hfd_problem_kind read_form(struct hfd_op *op) {
    return show_form(op, hfd_request_query(op->request, "next"), NULL);
}

/* ---------------------------------------------------------------- signing in */

static const struct hfd_statement open_statement = {
    "sessions-open", "insert into sessions (digest) values (decode($1, 'hex'))", 1};
static const struct hfd_statement sweep_statement = {"sessions-sweep",
    "delete from sessions where expires_at <= now() or used_at <= now() - interval '1 hour'", 0};
static const struct hfd_statement close_statement = {
    "sessions-close", "delete from sessions where digest = decode($1, 'hex')", 1};

/* A session of the token; its secret goes into the cookie and nowhere else. */
static enum hfd_problem_kind open_session(struct hfd_op *op, const char *token) {
    char digest[HFD_TOKEN_DIGEST_SIZE], session_digest[HFD_DIGEST_HEX], secret[HFD_SECRET_LENGTH + 1];
    if (token == NULL || !hfd_token_digest(hf_arena_printf(op->arena, "Bearer %s", token), digest))
        return HFD_UNAUTHENTICATED;
    hfd_secret_new(HFD_SESSION_PREFIX, secret);
    hfd_digest_hex(secret, HFD_SECRET_LENGTH, session_digest);
    op->session.digest_hex = hf_arena_strdup(op->arena, digest);
    op->session.roles = HFD_EVERYONE;
    const char *params[] = {session_digest};
    struct hfd_call calls[] = {{.statement = &sweep_statement},
        {.statement = &open_statement, .params = params}, hfd_trace_call(op, "sign-in", op->path, NULL)};
    enum hfd_problem_kind kind = hfd_op_run(op, calls, HFD_COUNT(calls));
    if (kind == HFD_OK)
        hfd_reply_header(op->reply, "Set-Cookie", hfd_session_cookie(secret, op->config->secure, op->arena));
    return kind;
}

static const char *trimmed(const char *text, hf_arena *arena) {
    static const char space[] = " \t\r\n";
    if (text == NULL) return NULL;
    text += strspn(text, space);
    return hf_arena_printf(arena, "%.*s", (int)strcspn(text, space), text);
}

/* Only tries that fail cost something of what an address may do. */
static enum hfd_problem_kind try(struct hfd_op *op, const char *token) {
    struct hfd_limiter *limiter = op->config->sign_ins;
    struct hfd_budget budget = hfd_limiter_take(limiter, op->request->peer, hfd_clock_monotonic_ns());
    if (!budget.allowed) {
        hfd_reply_header(op->reply, "Retry-After", hf_arena_printf(op->arena, "%ld", budget.retry_s));
        op->detail = "Too many failed sign-ins from here. Wait a minute.";
        return HFD_RATE_LIMITED;
    }
    enum hfd_problem_kind kind = open_session(op, trimmed(token, op->arena));
    if (kind != HFD_UNAUTHENTICATED) hfd_limiter_give(limiter, op->request->peer, hfd_clock_monotonic_ns());
    return kind;
}

static enum hfd_problem_kind sign_in(struct hfd_op *op) {
    static const char *const types[] = {"application/x-www-form-urlencoded", NULL};
    if (!hfd_same_origin(op->request)) return HFD_CROSS_SITE;
    enum hfd_problem_kind kind = hfd_op_body(op, types, "Accept-Post");
    if (kind != HFD_OK) return kind;
    const struct hfd_pair *fields;
    size_t count;
    const char *wrong = hfd_pairs_decode(op->request->body, HFD_IN_FORM, op->arena, &fields, &count);
    if (wrong != NULL) {
        op->detail = hf_arena_printf(op->arena, "The form cannot be read: %s.", wrong);
        return HFD_BAD_REQUEST;
    }
    const char *next = hfd_pairs_find(fields, count, "next");
    kind = try(op, hfd_pairs_find(fields, count, "token"));
    if (kind == HFD_OK) return hfd_op_see_other(op, destination(next));
    if (kind != HFD_UNAUTHENTICATED || !op->wants_page) return kind;
    hfd_trace_refusal(op, kind);
    show_form(op, next, "The token is unknown, expired or revoked.");
    hfd_reply_header(op->reply, "WWW-Authenticate", "Bearer");
    op->reply->status = 401;
    return HFD_OK;
}

/* Whatever became of the session, the browser's cookie goes. */
static enum hfd_problem_kind sign_out(struct hfd_op *op) {
    if (!hfd_same_origin(op->request)) return HFD_CROSS_SITE;
    char digest[HFD_TOKEN_DIGEST_SIZE];
    if (hfd_session_digest(op->request, op->config->secure, digest)) {
        op->session.digest_hex = digest;
        op->session.roles = HFD_EVERYONE;
        const char *params[] = {digest};
        struct hfd_call calls[] = {{.statement = &close_statement, .params = params},
            hfd_trace_call(op, "sign-out", op->path, NULL)};
        enum hfd_problem_kind kind = hfd_op_run(op, calls, HFD_COUNT(calls));
        op->session.digest_hex = NULL;
        if (kind != HFD_OK && kind != HFD_UNAUTHENTICATED) return kind;
    }
    hfd_reply_header(op->reply, "Set-Cookie", hfd_session_cookie(NULL, op->config->secure, op->arena));
    return hfd_op_see_other(op, "/sign-in");
}

static const char *const next_query[] = {"next", NULL};
static const struct hfd_route routes[] = {
    {.method = HFD_GET,
        .path = "/",
        .id = "start",
        .roles = HFD_PUBLIC,
        .operation = start,
        .produces = "text/html",
        .what = "Start page"},
    {.method = HFD_GET,
        .path = "/sign-in",
        .id = "sign-in-form",
        .roles = HFD_PUBLIC,
        .operation = read_form,
        .query = next_query,
        .produces = "text/html",
        .what = "Form to sign in with a token"},
    {.method = HFD_POST,
        .path = "/sign-in",
        .roles = HFD_PUBLIC,
        .operation = sign_in,
        .takes_type = "application/x-www-form-urlencoded",
        .takes = "{type: object, required: [token], properties: {token: {type: string, maxLength: 200}, "
                 "next: {type: string, maxLength: 4096}}}",
        .example = "{\"token\": \"hf_AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8\", \"next\": \"/worklist\"}",
        .produces = "text/html",
        .redirects = true,
        .what = "Open a session of a token: a cookie for browsers, from a page of this server only"},
    {.method = HFD_GET,
        .path = "/worklist",
        .roles = HFD_PUBLIC,
        .operation = lead_to_worklist,
        .produces = "text/html",
        .redirects = true,
        .what = "Leads to the worklist as a page"},
    {.method = HFD_POST,
        .path = "/sign-out",
        .roles = HFD_PUBLIC,
        .operation = sign_out,
        .produces = "text/html",
        .redirects = true,
        .what = "End the session"},
};

const struct hfd_resource hfd_resource_entrance = {.routes = routes, .route_count = HFD_COUNT(routes)};
