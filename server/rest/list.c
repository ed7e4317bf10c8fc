/* Lists: filters and sort keys from the table of columns, pages by (sort key, id). */
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "../base/fnv.h"
#include "../base/form.h"
#include "cursor.h"
#include "list_forms.h"
#include "op.h"
#include "trace.h"

enum { LIMIT_DEFAULT = 50, LIMIT_MAX = 200 };

struct list {
    struct hfd_op *op;
    const struct hfd_list_form *form; /* NULL: JSON */
    char separator;                   /* of a table */
    bool whole;                       /* all pages, one after the other, as one reply */
    long limit;
    bool total;
    bool page;               /* for people: a field of its form that is left empty asks for nothing */
    const char *cursor_text; /* NULL: from the beginning */
    struct hfd_cursor cursor;
    const struct hfd_column *sort;
    bool descending;
    struct hfd_buf where;    /* " and …" per filter */
    struct hfd_buf question; /* sort and filters as a query string */
    const char **params;
    int param_count;
};

static void put_question(struct list *list, const char *name, const char *value) {
    hfd_buf_printf(&list->question, "%s%s=", list->question.length > 0 ? "&" : "", name);
    hfd_buf_percent(&list->question, value);
}

static void refuse(struct list *list, const char *name, const char *detail) {
    hfd_errors_add(&list->op->errors, hf_arena_printf(list->op->arena, "?%s", name), "%s", detail);
}

/* How a column may be asked for. */
static const struct {
    const char *suffix, *compare;
    unsigned flag;
} forms[] = {{"", "=", HFD_FILTER}, {"_from", ">=", HFD_RANGE}, {"_to", "<=", HFD_RANGE}};

static bool is_filter(const struct hfd_resource *resource, const char *name) {
    for (size_t i = 0; i < resource->column_count; i++) {
        const struct hfd_column *c = &resource->columns[i];
        size_t length = strlen(c->name);
        if (strncmp(name, c->name, length) != 0) continue;
        for (size_t f = 0; f < HFD_COUNT(forms); f++)
            if ((c->flags & forms[f].flag) && strcmp(name + length, forms[f].suffix) == 0) return true;
    }
    return false;
}

static void refuse_stranger(struct list *list, const char *name) {
    const struct hfd_resource *r = list->op->resource;
    const char *names =
        r->dated ? "limit, cursor, sort, total, separator, on" : "limit, cursor, sort, total, separator";
    for (size_t i = 0; i < r->column_count; i++)
        for (size_t f = 0; f < HFD_COUNT(forms); f++)
            if (r->columns[i].flags & forms[f].flag)
                names =
                    hf_arena_printf(list->op->arena, "%s, %s%s", names, r->columns[i].name, forms[f].suffix);
    refuse(list, name, hf_arena_printf(list->op->arena, "There is no such parameter; there are: %s.", names));
}

/* The condition with the parameter's number in the place of %d. */
static void put_asked(struct list *list, const char *condition) {
    const char *at = strstr(condition, "%d");
    hfd_buf_printf(
        &list->where, " and %.*s%d%s", (int)(at - condition), condition, list->param_count, at + 2);
}

/* Told in full, so that the planner knows which range of which index it is. */
static const char *condition_of(const struct hfd_column *column, const char *value) {
    size_t i = strcmp(value, "true") == 0;
    while (column->names != NULL && strcmp(column->names[i], value) != 0)
        i++;
    return column->conditions[i];
}

static void take_filter(
    struct list *list, const struct hfd_column *column, const char *suffix, const char *compare) {
    const char *name = hf_arena_printf(list->op->arena, "%s%s", column->name, suffix);
    const char *value = hfd_request_query(list->op->request, name);
    if (value != NULL && list->page && *value == '\0') value = NULL;
    const char *error = value ? hfd_record_text_error(column, value, list->op->arena) : NULL;
    if (error != NULL) refuse(list, name, error);
    if (value == NULL || error != NULL) return;
    put_question(list, name, value);
    if (column->conditions != NULL) {
        hfd_buf_printf(&list->where, " and %s", condition_of(column, value));
        return;
    }
    list->params[list->param_count++] = value;
    if (column->asked != NULL)
        put_asked(list, column->asked);
    else
        hfd_buf_printf(&list->where, " and %s %s $%d", column->name, compare, list->param_count);
}

/* In the order of the columns, so that the same question is always the same statement. */
static void take_filters(struct list *list) {
    const struct hfd_resource *r = list->op->resource;
    list->params = HF_NEW_ARRAY(list->op->arena, const char *, r->column_count *HFD_COUNT(forms) + 4);
    if (r->dated && hfd_op_day(list->op, &list->params[list->param_count++]) && list->params[0] != NULL)
        put_question(list, "on", list->params[0]);
    for (size_t i = 0; i < r->column_count; i++)
        for (size_t f = 0; f < HFD_COUNT(forms); f++)
            if (r->columns[i].flags & forms[f].flag)
                take_filter(list, &r->columns[i], forms[f].suffix, forms[f].compare);
}

static void take_sort(struct list *list, const char *value) {
    const struct hfd_resource *r = list->op->resource;
    list->descending = value[0] == '-';
    int i = hfd_column_find(r, value + list->descending);
    if (i >= 0 && (r->columns[i].flags & HFD_SORT)) {
        list->sort = &r->columns[i];
        return;
    }
    const char *names = "";
    for (size_t k = 0; k < r->column_count; k++)
        if (r->columns[k].flags & HFD_SORT)
            names = hf_arena_printf(list->op->arena, "%s%s%s", names, *names ? ", " : "", r->columns[k].name);
    refuse(list, "sort",
        hf_arena_printf(list->op->arena, "One of %s, with - in front for the last first.", names));
}

/* Spreadsheets of countries with a decimal comma want semicolons. */
static void take_separator(struct list *list, const char *value) {
    static const struct {
        const char *name;
        char separator;
    } separators[] = {{"comma", ','}, {"semicolon", ';'}, {"tab", '\t'}};
    for (size_t i = 0; i < HFD_COUNT(separators); i++) {
        if (strcmp(value, separators[i].name) != 0) continue;
        list->separator = separators[i].separator;
        return;
    }
    refuse(list, "separator", "comma, semicolon or tab.");
}

static void take_limit(struct list *list, const char *value) {
    char *end;
    list->limit = value[0] >= '1' && value[0] <= '9' ? strtol(value, &end, 10) : 0;
    if (list->limit < 1 || list->limit > LIMIT_MAX || *end != '\0')
        refuse(list, "limit", hf_arena_printf(list->op->arena, "A whole number from 1 to %d.", LIMIT_MAX));
    list->whole = false;
}

static void take_total(struct list *list, const char *value) {
    list->total = strcmp(value, "true") == 0;
    if (!list->total && strcmp(value, "false") != 0) refuse(list, "total", "true or false.");
    if (list->total && list->form != NULL) refuse(list, "total", "Told in JSON only.");
}

static void take_parameters(struct list *list) {
    const struct hfd_request *request = list->op->request;
    for (size_t i = 0; i < request->query_count; i++) {
        const char *name = request->query[i].name, *value = request->query[i].value;
        if (hfd_request_query(request, name) != value)
            refuse(list, name, "Told twice.");
        else if (strcmp(name, "limit") == 0)
            take_limit(list, value);
        else if (strcmp(name, "cursor") == 0)
            list->cursor_text = value;
        else if (strcmp(name, "total") == 0)
            take_total(list, value);
        else if (strcmp(name, "sort") == 0)
            take_sort(list, value);
        else if (strcmp(name, "separator") == 0)
            take_separator(list, value);
        else if (!(list->op->resource->dated && strcmp(name, "on") == 0) &&
                 !is_filter(list->op->resource, name))
            refuse_stranger(list, name);
    }
    if (request->continues != NULL) list->cursor_text = request->continues;
    take_filters(list);
    if (list->sort == NULL) return;
    put_question(list, "sort",
        hf_arena_printf(list->op->arena, "%s%s", list->descending ? "-" : "", list->sort->name));
}

/* Prepared once per form of the question, whatever its values are. */
static struct hfd_statement statement(const struct list *list, const char *sql) {
    const char *name =
        hf_arena_printf(list->op->arena, "%s-list-%016" PRIx64, list->op->resource->table, hfd_fnv1a(sql));
    return (struct hfd_statement){name, sql, list->param_count};
}

static struct hfd_statement count_statement(const struct list *list) {
    return statement(list, hf_arena_printf(list->op->arena, "select count(*) from %s t where true%s",
                               list->op->texts->from, list->where.text));
}

static void refuse_cursor(struct list *list) {
    refuse(list, "cursor", "Not a place in this list; begin again without it.");
}

static struct hfd_statement page_statement(struct list *list) {
    hf_arena *arena = list->op->arena;
    const char *after = "", *name = list->sort->name, *direction = list->descending ? "desc" : "asc";
    const struct hfd_cursor *cursor = &list->cursor;
    if (list->cursor_text != NULL && hfd_cursor_read(list->cursor_text, arena, &list->cursor) &&
        hfd_record_text_error(list->sort, cursor->sort_value, arena) == NULL) {
        list->params[list->param_count++] = cursor->sort_value;
        list->params[list->param_count++] = cursor->id;
        after = hf_arena_printf(arena, " and (%s, id) %s ($%d, $%d)", name, list->descending ? "<" : ">",
            list->param_count - 1, list->param_count);
    } else if (list->cursor_text != NULL) {
        refuse_cursor(list);
    }
    list->params[list->param_count++] = hf_arena_printf(arena, "%ld", list->limit + 1);
    const char *sql = hf_arena_printf(arena,
        "select %s from %s t where true%s%s order by %s %s, id %s limit $%d", list->op->texts->columns,
        list->op->texts->from, list->where.text, after, name, direction, direction, list->param_count);
    return statement(list, sql);
}

/* What a cursor belongs to; the clinic is known once the rows are here. */
static const char *whole_question(const struct list *list) {
    return hf_arena_printf(list->op->arena, "%s %s?%s", list->op->session.clinic_id, list->op->resource->path,
        list->question.text);
}

/* NULL: this is the last page. */
static const char *next_cursor(struct list *list, const struct hfd_rows *rows) {
    if (rows->row_count <= (size_t)list->limit) return NULL;
    size_t last = (size_t)list->limit - 1;
    const char *value = hfd_cell(rows, last, (size_t)(list->sort - list->op->resource->columns));
    return hfd_cursor_write(whole_question(list), value, hfd_cell(rows, last, 0), list->op->arena);
}

static void link_next(struct list *list, const char *cursor) {
    const char *separator = list->separator == ','   ? ""
                            : list->separator == ';' ? "&separator=semicolon"
                                                     : "&separator=tab";
    hfd_reply_header(list->op->reply, "Link",
        hf_arena_printf(list->op->arena, "<%s%s%s?%s&limit=%ld%s&cursor=%s>; rel=\"next\"",
            list->op->resource->path, list->form ? "." : "", list->form ? list->form->ending : "",
            list->question.text, list->limit, separator, cursor));
}

static enum hfd_problem_kind show(struct list *list, const struct hfd_rows *rows) {
    const char *cursor = next_cursor(list, rows);
    const struct hfd_listing listing = {.rows = rows,
        .count = cursor ? (size_t)list->limit : rows->row_count,
        .next = cursor ? hf_arena_printf(list->op->arena, "%s.html?%s&limit=%ld&cursor=%s",
                             list->op->resource->path, list->question.text, list->limit, cursor)
                       : NULL};
    return list->op->resource->list_page(list->op, &listing);
}

static enum hfd_problem_kind reply(struct list *list, const struct hfd_rows *rows, const char *total) {
    const struct hfd_resource *r = list->op->resource;
    struct hfd_buf body;
    hfd_buf_init(&body, list->op->arena, 1024 * (rows->row_count + 1));
    hfd_buf_text(&body, "{\"items\":[");
    for (size_t i = 0; i < rows->row_count && i < (size_t)list->limit; i++) {
        if (i > 0) hfd_buf_char(&body, ',');
        hfd_record_write(&body, r->columns, r->column_count, rows->cells + i * rows->column_count);
    }
    hfd_buf_text(&body, "],\"next_cursor\":");
    const char *cursor = next_cursor(list, rows);
    hfd_buf_json_string(&body, cursor);
    if (cursor != NULL) link_next(list, cursor);
    if (total != NULL) hfd_buf_printf(&body, ",\"total\":%s", total);
    hfd_buf_char(&body, '}');
    return hfd_op_json(list->op, body.text, body.length);
}

/* A page of a table; without a limit all pages follow, each when the one before has left. */
static enum hfd_problem_kind reply_table(struct list *list, const struct hfd_rows *rows) {
    struct hfd_op *op = list->op;
    struct hfd_buf body;
    hfd_buf_init(&body, op->arena, 512 * (rows->row_count + 1));
    if (list->form->has_header && op->request->continues == NULL)
        hfd_list_header(&body, op->resource, list->separator);
    for (size_t i = 0; i < rows->row_count && i < (size_t)list->limit; i++)
        list->form->row(&body, op->resource, rows->cells + i * rows->column_count, list->separator);
    const char *cursor = next_cursor(list, rows);
    if (list->whole)
        op->reply->next = cursor;
    else if (cursor != NULL)
        link_next(list, cursor);
    hfd_reply_header(op->reply, "Content-Disposition",
        hf_arena_printf(op->arena, "attachment; filename=\"%s.%s\"", op->resource->path + strlen("/v1/"),
            list->form->ending));
    return hfd_op_text(op, list->form->content_type, &body);
}

enum hfd_problem_kind hfd_op_list(struct hfd_op *op) {
    const struct hfd_list_form *form = hfd_list_form(op);
    struct list list = {.op = op,
        .form = form,
        .separator = ',',
        .page = hfd_op_produces(op, "text/html"),
        .whole = form != NULL,
        .limit = form ? LIMIT_MAX : LIMIT_DEFAULT};
    hfd_buf_init(&list.where, op->arena, 128);
    hfd_buf_init(&list.question, op->arena, 128);
    take_sort(&list, op->resource->sort);
    take_parameters(&list);
    struct hfd_statement count = count_statement(&list);
    struct hfd_statement page = op->errors.count == 0 ? page_statement(&list) : count;
    if (op->errors.count > 0) return hfd_op_refuse(op, HFD_BAD_REQUEST);
    struct hfd_call calls[2] = {
        {.statement = &page, .params = list.params}, {.statement = &count, .params = list.params}};
    enum hfd_problem_kind kind = hfd_trace_run(op, calls, list.total ? 2 : 1, (size_t)list.limit);
    if (kind != HFD_OK) return kind;
    if (list.cursor_text != NULL && !hfd_cursor_answers(&list.cursor, whole_question(&list), op->arena)) {
        refuse_cursor(&list);
        return HFD_BAD_REQUEST;
    }
    if (form != NULL) return reply_table(&list, &calls[0].rows);
    if (list.page) return show(&list, &calls[0].rows);
    return reply(&list, &calls[0].rows, list.total ? hfd_cell(&calls[1].rows, 0, 0) : NULL);
}
