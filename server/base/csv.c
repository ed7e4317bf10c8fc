#include "csv.h"

#include <string.h>

/* Apostrophes, then what a spreadsheet takes for a formula: one more is put in front, one is taken off. */
static bool looks_like_formula(const char *text) {
    text += strspn(text, "'");
    return *text && strchr("=+-@\t\r\n", *text);
}

void hfd_csv_cell(struct hfd_buf *out, bool first, char separator, const char *text, bool bare) {
    if (!first) hfd_buf_char(out, separator);
    if (text == NULL || *text == '\0') return;
    bool guard = !bare && looks_like_formula(text);
    bool quote = guard || strpbrk(text, "\",;\t\r\n") || *text == ' ' || text[strlen(text) - 1] == ' ';
    if (quote) hfd_buf_char(out, '"');
    if (guard) hfd_buf_char(out, '\'');
    for (const char *at = text; *at; at++) {
        if (*at == '"') hfd_buf_char(out, '"');
        hfd_buf_char(out, *at);
    }
    if (quote) hfd_buf_char(out, '"');
}

void hfd_csv_line_end(struct hfd_buf *out) {
    hfd_buf_text(out, "\r\n");
}

void hfd_csv_begin(struct hfd_csv *csv, const char *text, size_t length) {
    *csv = (struct hfd_csv){.text = text, .length = length, .separator = ',', .next_line = 1};
    if (length >= 3 && memcmp(text, "\xEF\xBB\xBF", 3) == 0) csv->at = 3;
    bool quoted = false;
    for (size_t i = csv->at; i < length && (quoted || (text[i] != '\n' && text[i] != '\r')); i++) {
        if (text[i] == '"') quoted = !quoted;
        if (quoted || (text[i] != ',' && text[i] != ';' && text[i] != '\t')) continue;
        csv->separator = text[i];
        break;
    }
}

static bool at_end(const struct hfd_csv *csv) {
    return csv->at == csv->length;
}
static char here(const struct hfd_csv *csv) {
    return at_end(csv) ? '\n' : csv->text[csv->at];
}
static bool at_line_end(const struct hfd_csv *csv) {
    return here(csv) == '\n' || here(csv) == '\r';
}

static void skip_line_end(struct hfd_csv *csv) {
    if (!at_end(csv) && csv->text[csv->at] == '\r') csv->at++;
    if (!at_end(csv) && csv->text[csv->at] == '\n') csv->at++;
}

static const char *unguarded(const char *cell) {
    return *cell == '\'' && looks_like_formula(cell) ? cell + 1 : cell;
}

/* At a quote; leaves the place behind the closing one. */
static const char *quoted_cell(struct hfd_csv *csv, struct hfd_buf *cell) {
    for (csv->at++; !at_end(csv); csv->at++) {
        char c = csv->text[csv->at];
        if (c == '"' && (++csv->at == csv->length || csv->text[csv->at] != '"')) return NULL;
        if (c == '\0') return "holds a zero byte";
        hfd_buf_char(cell, c);
    }
    return "a quote is not closed";
}

static const char *bare_cell(struct hfd_csv *csv, struct hfd_buf *cell) {
    for (; !at_line_end(csv) && here(csv) != csv->separator; csv->at++) {
        if (here(csv) == '"') return "a quote stands inside a cell that does not begin with one";
        if (here(csv) == '\0') return "holds a zero byte";
        hfd_buf_char(cell, here(csv));
    }
    return NULL;
}

static const char *read_row(struct hfd_csv *csv, hf_arena *arena, struct hfd_csv_row *row) {
    size_t room = 16;
    *row = (struct hfd_csv_row){.cells = HF_NEW_ARRAY(arena, const char *, room)};
    for (;;) {
        struct hfd_buf cell;
        hfd_buf_init(&cell, arena, 32);
        bool quoted = here(csv) == '"' && !at_end(csv);
        const char *fault = quoted ? quoted_cell(csv, &cell) : bare_cell(csv, &cell);
        if (fault) return fault;
        if (!at_line_end(csv) && here(csv) != csv->separator) return "something follows a closing quote";
        if (row->count == room) {
            const char **more = HF_NEW_ARRAY(arena, const char *, room *= 2);
            memcpy(more, row->cells, row->count * sizeof *more);
            row->cells = more;
        }
        row->cells[row->count++] = unguarded(cell.text);
        if (at_line_end(csv)) return NULL;
        csv->at++;
    }
}

static size_t lines_since(const struct hfd_csv *csv, size_t from) {
    size_t lines = 0;
    for (size_t i = from; i < csv->at; i++)
        lines += csv->text[i] == '\n' ||
                 (csv->text[i] == '\r' && (i + 1 == csv->length || csv->text[i + 1] != '\n'));
    return lines;
}

bool hfd_csv_next(struct hfd_csv *csv, hf_arena *arena, struct hfd_csv_row *row, const char **fault) {
    *fault = NULL;
    while (!at_end(csv)) {
        size_t from = csv->at;
        bool empty = at_line_end(csv);
        csv->line = csv->next_line;
        if (empty)
            skip_line_end(csv);
        else
            *fault = read_row(csv, arena, row);
        csv->next_line += lines_since(csv, from);
        if (!empty) return *fault == NULL;
    }
    return false;
}
