/* What a resource is: a table of columns and a few texts, from which the engine makes decoding, SQL,
 * encoding, filters, pages and preconditions. Any route may also be a plain function in the resource's own
 * file. */
#ifndef HFD_RESOURCE_H
#define HFD_RESOURCE_H

#include "../base/buf.h"
#include "../base/exchange.h"
#include "../base/problem.h"
#include "../json/record.h"
#include "../store/store.h"
#include "roles.h"

struct hfd_resource;
struct hfd_rest_config;
struct hfd_texts;

/* One request on its way: made by dispatch, filled by the operation. */
struct hfd_op {
    struct hfd_store *store;
    struct hfd_tx *tx; /* the one it is part of, or NULL: each run is one of its own */
    struct hfd_request *request;
    struct hfd_reply *reply;
    hf_arena *arena;
    struct hfd_session session;
    const struct hfd_resource *resource;
    const struct hfd_texts *texts;     /* the resource's SQL */
    const struct hfd_texts *all_texts; /* in the order of hfd_resources */
    const char *id;                    /* what stood at {id} (a UUID) or {slug} */
    const char *path;                  /* the route's, without ids */
    bool traced;                       /* the audit knows of it */
    bool rehearsal;                    /* the transaction is to leave nothing, though all went well */
    const char *new_id;                /* of the row to be created; NULL: a fresh one */
    const char *produces;              /* of what the route offers, the type that the client likes best */
    bool by_cookie;                    /* a browser's session, no token, was sent */
    bool wants_page;                   /* the client likes pages better than JSON */
    const struct hfd_rest_config *config;
    struct hfd_errors errors; /* of a refusal */
    const char *detail;
};

/* HFD_OK with op->reply filled, or the refusal; one place writes application/problem+json. */
typedef enum hfd_problem_kind hfd_operation(struct hfd_op *op);

/* A page of a list, found and traced, for who shows it. */
struct hfd_listing {
    const struct hfd_rows *rows; /* a cell for each column of the resource */
    size_t count;
    const char *next; /* where the next one is; NULL: this is the last */
};
typedef enum hfd_problem_kind hfd_list_page(struct hfd_op *op, const struct hfd_listing *listing);

struct hfd_route {
    enum hfd_method method;
    const char *path;  /* "/v1/visits/{id}/force-system" */
    const char *roles; /* an audience of roles.h; NULL is refused at start */
    hfd_operation *operation;
    const char *const *query; /* parameters it takes, NULL-ended; HFD_POINTERS: those the operation knows */
    const char *fields;       /* header fields that it heeds: "Last-Event-ID" */
    const char *produces;     /* "application/json, text/html"; NULL: application/json */
    /* for the public description */
    const char *id;               /* of the operation; NULL: from the path */
    const char *what;             /* one line */
    const char *takes, *answers;  /* schemas in YAML's flow style; takes NULL: no body */
    const char *takes_type;       /* NULL: application/json */
    const char *example;          /* of the body, JSON */
    bool has_etag, refuses_state; /* may answer 304; may answer 422 without a body to blame */
    bool redirects;               /* answers 303 */
    bool expires;                 /* takes a cursor that may be too old: 410 */
    bool creates, needs_match;    /* answers 201; takes the row's ETag in If-Match */
    bool writes;                  /* takes an Idempotency-Key; may answer as any write does */
};

/* Stands for all parameters whose name is a JSON pointer, "/elements/0/force_n". */
#define HFD_POINTERS "pointers"

enum hfd_verb { HFD_LIST = 1, HFD_READ = 2, HFD_CREATE = 4, HFD_CHANGE = 8 };

/* A rule over several rows, told in SQL and run inside the transaction of a write, before it. `params` name
 * the columns whose new cells are $1, $2 …; "id" is the row's own. */
struct hfd_rule {
    const char *sql;
    const char *params[8];
    /* NULL: the query returns (pointer, detail) once per breach. Else it returns one row whose cells replace
     * those of these columns (no row: they stay). */
    const char *fills[6];
};

/* The cells of a row about to be written, by name. */
struct hfd_row {
    const struct hfd_resource *resource;
    const char **cells;
};

/* How rows are brought in from a table of texts, where a reference may be told as people know it. */
struct hfd_import {
    const char *key[2]; /* columns that together name a row within the clinic */
    struct {
        const char *column, *headers[2]; /* the column's value follows from those of the headers … */
        const char *sql;                 /* … as $1 and $2 ("" when left out); one row, or it is refused */
    } lookups[4];
};

struct hfd_resource {
    const char *path;    /* "/v1/patients"; NULL: routes only */
    const char *noun;    /* "patient" */
    const char *example; /* a body that creates one, JSON */
    const char *change;  /* a body that changes one */
    const char *table;
    const struct hfd_column *columns; /* the first is id */
    size_t column_count;
    unsigned verbs;
    const char *read_roles, *write_roles;
    const char *sort; /* of lists when not asked for: "name", "-visited_on" */
    /* What the members of one row must be to each other. */
    void (*check)(const struct hfd_row *row, struct hfd_errors *errors);
    const struct hfd_rule *rules;
    size_t rule_count;
    const struct hfd_route *routes;
    size_t route_count;
    /* Own SQL where the record is more than one table's row. Parameters of insert and update: id, then the
     * cells of the columns that are not read-only, in order. */
    const char *from, *insert, *update;
    bool dated; /* `from` has $1: the day that the list is asked for by ?on=, NULL for today */
    /* text/html of one row and of the list; NULL: none. */
    hfd_operation *read_page;
    hfd_list_page *list_page;
    const struct hfd_import *import; /* NULL: rows come one by one */
    bool untraced;                   /* tells nothing about patients: the audit does without */
};

extern const struct hfd_resource *const hfd_resources[]; /* NULL-ended; generated from resources/ */

/* NULL when the resource has no such column or the cell is NULL. */
const char *hfd_row_get(const struct hfd_row *row, const char *name);
/* Adds an error at `late` when both are given and late < early. Numbers or dates. */
void hfd_row_ordered(
    const struct hfd_row *row, const char *early, const char *late, struct hfd_errors *errors);

/* Was this of what the route offers chosen ("text/html")? */
bool hfd_op_produces(const struct hfd_op *op, const char *media_type);
/* For operations: one transaction, one round trip; without calls it only looks at the token. Inside
 * hfd_op_transact part of that transaction; a failure of the store is then told at its end. */
enum hfd_problem_kind hfd_op_run(struct hfd_op *op, struct hfd_call *calls, size_t count);
/* Returns `kind`, unless the token is not good or its role not allowed: who is not let in is told that, and
 * nothing of what else is wrong. */
enum hfd_problem_kind hfd_op_refuse(struct hfd_op *op, enum hfd_problem_kind kind);
/* Status 200 with this JSON text (borrowed). */
enum hfd_problem_kind hfd_op_json(struct hfd_op *op, const char *body, size_t length);
/* The same of another type: "text/html; charset=utf-8". */
enum hfd_problem_kind hfd_op_text(struct hfd_op *op, const char *content_type, const struct hfd_buf *body);
/* The same of an SVG that brings its own rules. */
enum hfd_problem_kind hfd_op_drawing(struct hfd_op *op, const struct hfd_buf *body);
/* A page: that, with the header fields that keep what it may do to the least; `script`: it has one of
 * ours. */
enum hfd_problem_kind hfd_op_page(struct hfd_op *op, const struct hfd_buf *body, bool script);
/* 303: the client is to GET `path` of this server. */
enum hfd_problem_kind hfd_op_see_other(struct hfd_op *op, const char *path);
/* Sets the ETag header; true when If-None-Match has it: the reply is then a finished 304. */
bool hfd_op_unchanged(struct hfd_op *op, const char *etag);

#endif
