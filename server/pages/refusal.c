#include "refusal.h"

#include "html.h"

void hfd_refusal_page(struct hfd_buf *out, enum hfd_problem_kind kind, const char *detail,
    const struct hfd_request *request, const struct hfd_errors *errors) {
    const struct hfd_problem_row *row = &hfd_problem_rows[kind];
    hfd_html_begin(out, &(struct hfd_frame){.title = row->title});
    hfd_html(out, "<h1>%s</h1>\n", row->title);
    if (detail) hfd_html(out, "<p>%s</p>\n", detail);
    if (errors->first) hfd_buf_text(out, "<ul>\n");
    for (const struct hfd_error *error = errors->first; error; error = error->next)
        hfd_html(out, "<li><code>%s</code> %s</li>\n", error->pointer, error->detail);
    if (errors->first) hfd_buf_text(out, "</ul>\n");
    hfd_html(out,
        "<p><a href=\"/problems/%s\">What this means</a></p>\n<p><a href=\"/\">To the start page</a></p>\n"
        "<p class=\"quiet\">Status %d, request <code>%s</code></p>\n",
        row->slug, row->status, request->id);
    hfd_html_end(out);
}
