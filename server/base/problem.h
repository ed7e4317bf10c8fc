/* Refusals. A handler returns a status and a list of errors; one place writes application/problem+json (RFC
 * 9457). */
#ifndef HFD_PROBLEM_H
#define HFD_PROBLEM_H

#include <stdarg.h>
#include <stddef.h>

#include "exchange.h"

struct hfd_error {
    const char
        *pointer; /* RFC 6901 into the body; NULL: the request as a whole; "?name": a query parameter */
    const char *detail;
    struct hfd_error *next;
};

/* A body can be wrong in a hundred thousand places: further errors are counted and not kept. */
#define HFD_ERRORS_KEPT 200

struct hfd_errors {
    hf_arena *arena;
    struct hfd_error *first, *last;
    size_t count;
};

void hfd_errors_init(struct hfd_errors *errors, hf_arena *arena);
void hfd_errors_add(struct hfd_errors *errors, const char *pointer, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

void hfd_errors_add_list(struct hfd_errors *errors, const char *pointer, const char *format, va_list args);

/* Kinds of refusal: one row each in problem.c (slug, HTTP status, title). The `type` member is
 * "/problems/<slug>", which the same server answers with a short page. */
enum hfd_problem_kind {
    HFD_OK,
    HFD_MALFORMED_JSON,          /* 400 */
    HFD_BAD_REQUEST,             /* 400 */
    HFD_UNAUTHENTICATED,         /* 401 */
    HFD_FORBIDDEN,               /* 403 */
    HFD_CROSS_SITE,              /* 403 */
    HFD_NOT_FOUND,               /* 404 */
    HFD_METHOD_NOT_ALLOWED,      /* 405 */
    HFD_NOT_ACCEPTABLE,          /* 406 */
    HFD_CONFLICT_UNIQUE,         /* 409 */
    HFD_CONFLICT_STATE,          /* 409 */
    HFD_IDEMPOTENCY_IN_PROGRESS, /* 409, Retry-After */
    HFD_CURSOR_GONE,             /* 410 */
    HFD_PRECONDITION_FAILED,     /* 412 */
    HFD_PAYLOAD_TOO_LARGE,       /* 413 */
    HFD_URI_TOO_LONG,            /* 414 */
    HFD_UNSUPPORTED_MEDIA_TYPE,  /* 415 */
    HFD_VALIDATION,              /* 422 */
    HFD_IDEMPOTENCY_KEY_REUSED,  /* 422 */
    HFD_PRECONDITION_REQUIRED,   /* 428 */
    HFD_RATE_LIMITED,            /* 429, Retry-After */
    HFD_HEADERS_TOO_LARGE,       /* 431 */
    HFD_INTERNAL,                /* 500 */
    HFD_OVERLOADED,              /* 503, Retry-After */
    HFD_DATABASE_UNAVAILABLE,    /* 503, Retry-After */
    HFD_PROBLEM_COUNT
};

struct hfd_problem_row {
    const char *slug, *title;
    int status;
};

extern const struct hfd_problem_row hfd_problem_rows[HFD_PROBLEM_COUNT];

/* The JSON text (in errors->arena). `detail` and `request` may be NULL; errors may be empty. */
const char *hfd_problem_text(enum hfd_problem_kind kind, const char *detail,
    const struct hfd_request *request, const struct hfd_errors *errors, size_t *length);

#endif
