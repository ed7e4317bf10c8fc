/* Several writes in one transaction: all of them or none. */
#include "../json/batch.h"

#include <string.h>

#include "op.h"
#include "route.h"

static const char *const JSON_TYPES[] = {"application/json", NULL};

struct batch {
    struct hfd_batch read;
    struct hfd_reply *replies;
    bool *failed;
    enum hfd_problem_kind kind; /* of the first item that failed */
};

/* A plain path: what would need decoding is of no resource. */
static void split(struct hfd_request *request, char *path) {
    if (*path != '/' || strpbrk(path, "%?#") != NULL) return;
    for (char *rest = path; rest != NULL && request->segment_count < HFD_SEGMENTS_MAX;) {
        *rest++ = '\0';
        request->segments[request->segment_count++] = rest;
        rest = strchr(rest, '/');
    }
}

static struct hfd_request item_request(const struct hfd_op *op, const struct hfd_batch_item *item) {
    struct hfd_pair *headers = HF_NEW_ARRAY(op->arena, struct hfd_pair, 3);
    struct hfd_request request = {.arena = op->arena,
        .method = item->method,
        .target = item->path,
        .headers = headers,
        .body = item->body,
        .body_len = strlen(item->body)};
    memcpy(request.id, op->request->id, sizeof request.id);
    headers[request.header_count++] = (struct hfd_pair){"content-type", "application/json"};
    if (item->if_match != NULL)
        headers[request.header_count++] = (struct hfd_pair){"if-match", item->if_match};
    const char *prefer = hfd_request_header(op->request, "prefer");
    if (prefer != NULL) headers[request.header_count++] = (struct hfd_pair){"prefer", prefer};
    split(&request, hf_arena_strdup(op->arena, item->path));
    return request;
}

/* `roles` as "{clinician,admin}". */
static bool is_among(const char *roles, const char *role) {
    size_t length = strlen(role);
    for (const char *p = roles; (p = strstr(p, role)) != NULL; p += length)
        if ((p[-1] == '{' || p[-1] == ',') && (p[length] == ',' || p[length] == '}')) return true;
    return false;
}

/* Where a fault lies that is none of the body's. */
static const char *member_of(enum hfd_problem_kind kind) {
    switch (kind) {
    case HFD_PRECONDITION_FAILED:
    case HFD_PRECONDITION_REQUIRED:
        return "/if_match";
    case HFD_NOT_FOUND:
    case HFD_FORBIDDEN:
    case HFD_VALIDATION: /* the path is none for a batch; what is wrong in a body has an error of its own */
        return "/path";
    default:
        return "";
    }
}

static void note_fault(
    struct batch *b, struct hfd_op *op, size_t i, const struct hfd_op *item_op, enum hfd_problem_kind kind) {
    b->failed[i] = true;
    if (b->kind == HFD_OK) b->kind = kind;
    for (const struct hfd_error *e = item_op->errors.first; e != NULL; e = e->next)
        hfd_errors_add(&op->errors,
            hf_arena_printf(op->arena, "/items/%zu/body%s", i, e->pointer ? e->pointer : ""), "%s",
            e->detail);
    if (item_op->errors.first == NULL)
        hfd_errors_add(&op->errors, hf_arena_printf(op->arena, "/items/%zu%s", i, member_of(kind)), "%s",
            item_op->detail ? item_op->detail : hfd_problem_rows[kind].title);
}

static enum hfd_problem_kind write_item(
    struct hfd_op *item_op, struct hfd_request *request, const char *new_id) {
    struct hfd_match match;
    hfd_route_match(hfd_resources, request, item_op->arena, &match);
    if (match.operation != hfd_op_create && match.operation != hfd_op_change) {
        item_op->detail = "A batch takes only what creates a row by POST or changes one by PATCH.";
        return HFD_VALIDATION;
    }
    if (!is_among(match.roles, item_op->session.role)) {
        item_op->detail = hf_arena_printf(item_op->arena, "This needs a token with one of the roles %.*s.",
            (int)strlen(match.roles) - 2, match.roles + 1);
        return HFD_FORBIDDEN;
    }
    item_op->resource = hfd_resources[match.resource];
    item_op->texts = &item_op->all_texts[match.resource];
    item_op->id = match.id;
    item_op->new_id = new_id;
    return match.operation(item_op);
}

static bool uses_failed(const struct batch *b, const struct hfd_batch_item *item) {
    for (size_t i = 0; i < b->read.count; i++)
        if (item->uses[i] && b->failed[i]) return true;
    return false;
}

/* False: the transaction is at its end. */
static bool run_item(struct batch *b, struct hfd_op *op, size_t i) {
    const struct hfd_batch_item *item = &b->read.items[i];
    if (uses_failed(b, item)) {
        b->failed[i] = true; /* what is wrong has been said there */
        return true;
    }
    if (!hfd_tx_save(op->tx)) return false;
    struct hfd_request request = item_request(op, item);
    struct hfd_op item_op = *op; /* with the role, which is known by now */
    item_op.request = &request;
    item_op.reply = &b->replies[i];
    *item_op.reply = (struct hfd_reply){0};
    hfd_errors_init(&item_op.errors, op->arena);
    enum hfd_problem_kind kind = write_item(&item_op, &request, item->id);
    if (kind == HFD_OK) return true;
    enum hfd_store_status status;
    struct hfd_store_error error;
    if (!hfd_tx_undo(op->tx, &status, &error)) return false;
    if (status != HFD_STORE_OK) kind = hfd_op_refusal(&item_op, status, &error);
    note_fault(b, op, i, &item_op, kind);
    return hfd_problem_rows[kind].status < 500;
}

static void put_header(
    struct hfd_buf *out, const struct hfd_reply *reply, const char *name, const char *member) {
    for (size_t i = 0; i < reply->header_count; i++) {
        if (strcmp(reply->headers[i].name, name) != 0) continue;
        hfd_buf_printf(out, ",\"%s\":", member);
        hfd_buf_json_string(out, reply->headers[i].value);
    }
}

static void put_item(struct hfd_buf *out, const struct hfd_batch_item *item, const struct hfd_reply *reply) {
    hfd_buf_printf(out, "{\"status\":%d", reply->status);
    if (item->ref != NULL) {
        hfd_buf_text(out, ",\"ref\":");
        hfd_buf_json_string(out, item->ref);
    }
    put_header(out, reply, "Location", "location");
    put_header(out, reply, "ETag", "etag");
    if (reply->body != NULL) {
        hfd_buf_text(out, ",\"body\":");
        hfd_buf_bytes(out, reply->body, reply->body_len);
    }
    hfd_buf_char(out, '}');
}

static enum hfd_problem_kind run(struct hfd_op *op, void *ctx) {
    struct batch *b = ctx;
    b->kind = HFD_OK;
    memset(b->failed, 0, b->read.count * sizeof *b->failed);
    for (size_t i = 0; i < b->read.count; i++)
        if (!run_item(b, op, i)) return b->kind != HFD_OK ? b->kind : HFD_INTERNAL;
    if (b->kind != HFD_OK) {
        op->detail = "Nothing was written.";
        return b->kind;
    }
    struct hfd_buf out;
    hfd_buf_init(&out, op->arena, 1024 * b->read.count);
    hfd_buf_text(&out, "{\"items\":[");
    for (size_t i = 0; i < b->read.count; i++) {
        if (i > 0) hfd_buf_char(&out, ',');
        put_item(&out, &b->read.items[i], &b->replies[i]);
    }
    hfd_buf_text(&out, "]}");
    hfd_op_minimal(op, 200); /* the items' bodies are left out, the list is not */
    return hfd_op_json(op, out.text, out.length);
}

enum hfd_problem_kind hfd_op_batch(struct hfd_op *op) {
    struct batch b = {0};
    enum hfd_problem_kind kind = hfd_op_body(op, JSON_TYPES, "Accept-Post");
    if (kind == HFD_OK)
        kind = hfd_batch_read(
            op->request->body, op->request->body_len, op->arena, &b.read, &op->errors, &op->detail);
    if (kind != HFD_OK) return hfd_op_refuse(op, kind);
    b.replies = HF_NEW_ARRAY(op->arena, struct hfd_reply, b.read.count);
    b.failed = HF_NEW_ARRAY(op->arena, bool, b.read.count);
    return hfd_op_transact(op, "batch", run, &b);
}
