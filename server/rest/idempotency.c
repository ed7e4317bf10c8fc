#include "idempotency.h"

#include <stdlib.h>
#include <string.h>

#include "../base/buf.h"
#include "../base/digest.h"

/* Each its own statement, so that `find` sees what the holder of the lock before has committed. The token is
 * the transaction's: these may be its first words, sent before the service knows whose it is. */
#define TOKEN "current_setting('app.token')"
static const struct hfd_statement lock = {"replies-lock",
    "select pg_try_advisory_xact_lock(hashtextextended(" TOKEN " || ' ' || $1 || ' ' || $2, 0))", 2};
static const struct hfd_statement find = {"replies-find",
    "select digest, status, content_type, fields, body from replies where token_id = " TOKEN "::uuid "
    "and path = $1 and key = $2 and kept_at > now() - interval '24 hours'",
    2};
static const struct hfd_statement keep = {"replies-keep",
    "insert into replies (token_id, path, key, digest, status, content_type, fields, body) "
    "values (" TOKEN "::uuid, $1, $2, $3, $4, $5, $6, $7) on conflict (clinic_id, token_id, path, key) "
    "do update set digest = excluded.digest, status = excluded.status, content_type = excluded.content_type, "
    "fields = excluded.fields, body = excluded.body, kept_at = excluded.kept_at",
    7};
/* More than comes in, so that the table does not grow; few, so that no request pays for a day's worth. */
static const struct hfd_statement forget = {"replies-forget",
    "delete from replies where (token_id, path, key) in (select token_id, path, key from replies "
    "where kept_at <= now() - interval '24 hours' order by kept_at limit 4 for update skip locked)",
    0};

static bool is_visible(char c) {
    return c > ' ' && c < 0x7f;
}

/* A string of RFC 9651 §3.3.3, without parameters. */
static const char *quoted(const char *p, hf_arena *arena) {
    char *key = hf_arena_alloc(arena, strlen(p) + 1);
    size_t n = 0;
    for (; *p != '"'; p++) {
        if (*p == '\\' && *++p != '"' && *p != '\\') return NULL;
        if (!is_visible(*p)) return NULL;
        key[n++] = *p;
    }
    key[n] = '\0';
    return p[1] == '\0' ? key : NULL;
}

const char *hfd_idempotency_key(const char *field, hf_arena *arena) {
    const char *key = field[0] == '"' ? quoted(field + 1, arena) : field;
    size_t length = key != NULL ? strlen(key) : 0;
    if (length == 0 || length > HFD_IDEMPOTENCY_KEY_MAX) return NULL;
    for (const char *p = key; *p != '\0'; p++)
        if (!is_visible(*p)) return NULL;
    return key;
}

enum hfd_problem_kind hfd_idempotency_read(struct hfd_op *op, struct hfd_idempotency *out) {
    *out = (struct hfd_idempotency){0};
    const struct hfd_request *request = op->request;
    const char *field = hfd_request_header(request, "idempotency-key");
    if (field == NULL || request->method != HFD_POST) return HFD_OK;
    out->key = hfd_idempotency_key(field, op->arena);
    if (out->key == NULL) {
        op->detail = hf_arena_printf(op->arena,
            "Idempotency-Key must have 1 to %d visible ASCII characters, plain or in quotation marks.",
            HFD_IDEMPOTENCY_KEY_MAX);
        return HFD_BAD_REQUEST;
    }
    char *digest = hf_arena_alloc(op->arena, HFD_DIGEST_HEX);
    hfd_digest_hex(request->body, request->body_len, digest);
    out->digest = digest;
    return HFD_OK;
}

static void add_fields(struct hfd_reply *reply, char *lines) {
    while (*lines != '\0') {
        char *value = strchr(lines, '\t'), *end = strchr(value, '\n');
        *value++ = '\0';
        *end = '\0';
        hfd_reply_header(reply, lines, value);
        lines = end + 1;
    }
}

static enum hfd_problem_kind replay(
    struct hfd_op *op, const struct hfd_idempotency *idempotency, const struct hfd_rows *rows) {
    if (strcmp(hfd_cell(rows, 0, 0), idempotency->digest) != 0) {
        op->detail = "This Idempotency-Key came with another body before.";
        return HFD_IDEMPOTENCY_KEY_REUSED;
    }
    struct hfd_reply *reply = op->reply;
    reply->status = (int)strtol(hfd_cell(rows, 0, 1), NULL, 10);
    reply->content_type = hfd_cell(rows, 0, 2);
    add_fields(reply, hf_arena_strdup(op->arena, hfd_cell(rows, 0, 3)));
    reply->body = hfd_cell(rows, 0, 4);
    reply->body_len = reply->body != NULL ? strlen(reply->body) : 0;
    hfd_reply_header(reply, "Idempotency-Replayed", "true");
    return HFD_OK;
}

enum hfd_problem_kind hfd_idempotency_claim(
    struct hfd_op *op, const struct hfd_idempotency *idempotency, bool *replayed) {
    *replayed = false;
    if (idempotency->key == NULL) return HFD_OK;
    const char *params[] = {op->request->target, idempotency->key};
    struct hfd_call calls[2] = {
        {.statement = &lock, .params = params}, {.statement = &find, .params = params}};
    enum hfd_problem_kind kind = hfd_op_run(op, calls, 2);
    if (kind != HFD_OK) return kind;
    if (strcmp(hfd_cell(&calls[0].rows, 0, 0), "t") != 0) {
        op->detail = "A request with this Idempotency-Key has not ended yet.";
        return HFD_IDEMPOTENCY_IN_PROGRESS;
    }
    *replayed = calls[1].rows.row_count > 0;
    return *replayed ? replay(op, idempotency, &calls[1].rows) : HFD_OK;
}

enum hfd_problem_kind hfd_idempotency_keep(
    struct hfd_op *op, const struct hfd_idempotency *idempotency, size_t first_header) {
    if (idempotency->key == NULL) return HFD_OK;
    const struct hfd_reply *reply = op->reply;
    struct hfd_buf fields;
    hfd_buf_init(&fields, op->arena, 256);
    for (size_t i = first_header; i < reply->header_count; i++)
        hfd_buf_printf(&fields, "%s\t%s\n", reply->headers[i].name, reply->headers[i].value);
    const char *params[] = {op->request->target, idempotency->key, idempotency->digest,
        hf_arena_printf(op->arena, "%d", reply->status), reply->content_type, fields.text, reply->body};
    struct hfd_call calls[2] = {{.statement = &keep, .params = params}, {.statement = &forget}};
    return hfd_op_run(op, calls, 2);
}
