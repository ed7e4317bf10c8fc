/* Writing web pages: the frame that all of them have, and mark-up with whatever comes from outside escaped.
 * The looks are in assets/; a page has no style of its own and no script, and reads well without either. */
#ifndef HFD_HTML_H
#define HFD_HTML_H

#include <stdbool.h>
#include <stddef.h>

#include "../base/buf.h"

/* One step of the way here; `path` NULL: this page. */
struct hfd_crumb {
    const char *text, *path;
};

struct hfd_frame {
    const char *title;
    const char *clinic, *role; /* of who is signed in; NULL: nobody */
    bool demo;                 /* the clinic is invented */
    const char *kind;          /* of the content, for its looks: "visit sheet"; NULL: a page of text */
    const struct hfd_crumb *crumbs;
    size_t crumb_count;
};

/* What every page and drawing of an invented clinic says. */
extern const char hfd_html_invented[];

void hfd_html_begin(struct hfd_buf *out, const struct hfd_frame *frame);
void hfd_html_end(struct hfd_buf *out);

/* Mark-up with %s for a text, which is escaped (NULL: nothing), and %d for an int. */
void hfd_html(struct hfd_buf *out, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* "2 Mar 2026" of "2026-03-02"; NULL: a dash. */
void hfd_html_date(struct hfd_buf *out, const char *date);
/* The same of days since 1970-01-01. */
void hfd_html_day(struct hfd_buf *out, int day);

#endif
