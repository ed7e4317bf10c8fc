/* Tables as text (RFC 4180): CRLF, quotes where needed. A spreadsheet takes a cell that begins with = + - @,
 * a tab or a line end for a formula: a text that does gets an apostrophe in front, which reading takes off
 * again. */
#ifndef HFD_CSV_H
#define HFD_CSV_H

#include <stdbool.h>

#include "buf.h"

/* One cell, with a separator in front unless `first`. NULL is empty. `bare`: a number or a word of ours,
 * written as it is. */
void hfd_csv_cell(struct hfd_buf *out, bool first, char separator, const char *text, bool bare);
void hfd_csv_line_end(struct hfd_buf *out);

struct hfd_csv {
    const char *text; /* not NUL-ended */
    size_t length, at;
    char separator;
    size_t line; /* where the row read last begins, from 1; a quoted cell may hold more lines */
    size_t next_line;
};

struct hfd_csv_row {
    const char **cells; /* empty cells are "" */
    size_t count;
};

/* The separator is the one of , ; and tab that stands in the first line outside quotes; a byte order mark is
 * skipped. */
void hfd_csv_begin(struct hfd_csv *csv, const char *text, size_t length);
/* The next row that is not empty; false: none, or *fault says in words what is wrong in line csv->line. */
bool hfd_csv_next(struct hfd_csv *csv, hf_arena *arena, struct hfd_csv_row *row, const char **fault);

#endif
