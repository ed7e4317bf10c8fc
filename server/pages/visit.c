/* The sheet of a visit: one page of paper with what the chair needs. */
#include "../draw/days.h"
#include "../draw/free_body.h"
#include "../draw/screw_loads.h"
#include "chart.h"
#include "told.h"

static void put_fact(struct hfd_buf *out, const char *name, const char *value) {
    if (value) hfd_html(out, "<div><dt>%s</dt><dd>%s</dd></div>\n", name, value);
}

static void put_date_fact(struct hfd_buf *out, const char *name, const char *date) {
    hfd_html(out, "<div><dt>%s</dt><dd>", name);
    hfd_html_date(out, date);
    hfd_buf_text(out, "</dd></div>\n");
}

static void put_head(struct hfd_buf *out, const struct hfd_visit_page *page) {
    hfd_buf_text(out, "<header class=\"sheet-head\">\n<h1>Visit of ");
    hfd_html_date(out, page->visit.visited_on);
    hfd_buf_text(out, "</h1>\n");
    hfd_chart_who(out, &page->patient);
    hfd_buf_text(out, "<dl class=\"facts\">\n");
    put_fact(out, "Treatment", page->course.title);
    put_fact(out, "Clinician", page->course.clinician);
    put_fact(out, "Chair", page->course.chair);
    put_date_fact(out, "Next visit", page->visit.next_on);
    hfd_buf_text(out, "</dl>\n</header>\n");
}

static void put_links(struct hfd_buf *out, const struct hfd_visit_page *page) {
    hfd_buf_text(out, "<nav class=\"beside\" aria-label=\"Visits of this case\">\n");
    if (page->before)
        hfd_html(out, "<a rel=\"prev\" href=\"/v1/visits/%s.html\">← Visit before</a>\n", page->before);
    if (page->after)
        hfd_html(out, "<a rel=\"next\" href=\"/v1/visits/%s.html\">Visit after →</a>\n", page->after);
    if (page->answer) hfd_html(out, "<a href=\"/v1/visits/%s/what-if\">What if?</a>\n", page->visit.id);
    hfd_html(out,
        "<a href=\"/v1/visits/%s/force-system.svg\">Drawing alone</a>\n"
        "<a href=\"/v1/visits/%s/force-system.json\">All figures as JSON</a>\n</nav>\n",
        page->visit.id, page->visit.id);
}

static void put_worn(struct hfd_buf *out, const struct hfd_visit_page *page) {
    hfd_buf_text(out, "<section class=\"worn\">\n<h2>What is worn</h2>\n");
    if (page->worn_count > 0) hfd_buf_text(out, "<ul>\n");
    for (size_t i = 0; i < page->worn_count; i++) {
        const struct hfd_chart_setup *setup = &page->worn[i];
        hfd_html(out, "<li><b>%s</b>", setup->name);
        if (setup->purpose) hfd_html(out, ", %s", setup->purpose);
        hfd_html(out, " <span class=\"quiet\">version %s since ", setup->version);
        hfd_html_date(out, setup->worn_from);
        hfd_buf_text(out, "</span></li>\n");
    }
    hfd_buf_text(out, page->worn_count > 0 ? "</ul>\n" : "<p>No plate.</p>\n");
    if (page->answer) hfd_told_elements(out, page->answer, page->arena);
    hfd_buf_text(out, "</section>\n");
}

static void put_done(struct hfd_buf *out, const struct hfd_visit_page *page) {
    if (page->action_count + page->check_count == 0 && !page->visit.note) return;
    hfd_buf_text(out, "<section class=\"done\">\n<h2>Done and seen at this visit</h2>\n<ul>\n");
    for (size_t i = 0; i < page->action_count; i++) {
        const struct hfd_chart_action *action = &page->actions[i];
        hfd_html(out, "<li>%s", action->action);
        if (action->of) hfd_html(out, " <b>%s</b>", action->of);
        if (action->note) hfd_html(out, ": <bdi>%s</bdi>", action->note);
        hfd_buf_text(out, "</li>\n");
    }
    for (size_t i = 0; i < page->check_count; i++) {
        const struct hfd_chart_check *check = &page->checks[i];
        hfd_html(out, "<li>Screw <b>%s</b>:", check->screw);
        if (check->mobility_grade) hfd_html(out, " mobility %s", check->mobility_grade);
        if (check->inflammation_grade) hfd_html(out, ", inflammation %s", check->inflammation_grade);
        if (check->percussion_score) hfd_html(out, ", percussion %s", check->percussion_score);
        if (check->resonance_score) hfd_html(out, ", resonance %s", check->resonance_score);
        hfd_buf_text(out, "</li>\n");
    }
    hfd_buf_text(out, "</ul>\n");
    if (page->visit.note) hfd_html(out, "<p class=\"note\"><bdi>%s</bdi></p>\n", page->visit.note);
    hfd_buf_text(out, "</section>\n");
}

static void put_missing(struct hfd_buf *out, const struct hfd_errors *errors) {
    hfd_buf_text(out,
        "<section>\n<h2>Not evaluated yet</h2>\n<p>What is recorded does not make a complete mechanics document. "
        "It lacks, or has wrong:</p>\n<ul>\n");
    for (const struct hfd_error *error = errors->first; error; error = error->next)
        hfd_html(out, "<li><code>%s</code> %s</li>\n", error->pointer, error->detail);
    hfd_buf_text(out, "</ul>\n</section>\n");
}

/* What fits the room that the rest leaves is for the style sheet to choose. */
static void put_paper(struct hfd_buf *out, const struct hfd_visit_page *page) {
    struct hfd_buf row;
    hfd_buf_init(&row, page->arena, 1024);
    bool either = hfd_draw_free_body_row(&row, "row", page->in, page->answer, page->arena);
    hfd_buf_text(out, either ? "<div class=\"high either\">\n" : "<div class=\"high\">\n");
    hfd_draw_free_body_flat(out, "flat", page->in, page->answer, page->arena);
    hfd_buf_text(out, "</div>\n");
    if (!either) return;
    hfd_buf_text(out, "<div class=\"wide\">\n");
    hfd_buf_bytes(out, row.text, row.length);
    hfd_buf_text(out, "</div>\n");
}

static void put_evaluation(struct hfd_buf *out, const struct hfd_visit_page *page) {
    const hf_answer *answer = page->answer;
    hfd_buf_text(out, "<section class=\"today\">\n<h2>Check today</h2>\n");
    hfd_told_checks(out, answer);
    hfd_buf_text(out, "</section>\n<section class=\"found\">\n<h2>Findings</h2>\n");
    hfd_told_findings(out, answer->findings, answer->finding_count, page->arena);
    hfd_buf_text(out,
        "</section>\n<section class=\"picture\">\n<h2>Forces</h2>\n<div class=\"scroll\" tabindex=\"0\" "
        "role=\"group\" aria-label=\"Free-body diagram\">\n");
    hfd_draw_free_body(out, true, page->in, answer, HFD_ALL_VIEWS, page->arena);
    hfd_buf_text(out, "</div>\n<div class=\"on-paper\">\n");
    put_paper(out, page);
    hfd_buf_text(out, "</div>\n</section>\n<section class=\"groups\">\n");
    hfd_told_groups(out, answer, page->arena);
    hfd_buf_text(out, "</section>\n<section class=\"felt\">\n");
    hfd_told_screws(out, page->in, answer, page->arena);
    hfd_buf_text(out, "</section>\n<section class=\"risk\">\n<h2>Risk of loss and its reasons</h2>\n");
    hfd_told_risk(out, answer, page->arena);
    hfd_buf_text(out, "</section>\n");
}

/* More than paper has room for. */
static void put_more(struct hfd_buf *out, const struct hfd_visit_page *page) {
    hfd_buf_text(out,
        "<section class=\"more\">\n<h2>Screws against their limits</h2>\n<div class=\"scroll\" tabindex=\"0\" "
        "role=\"group\" aria-label=\"Screws against their limits\">\n");
    hfd_draw_screw_loads(out, true, page->answer);
    hfd_buf_text(out,
        "</div>\n<h2>Force over the days</h2>\n<div class=\"scroll\" tabindex=\"0\" role=\"group\" "
        "aria-label=\"Force over the days\">\n");
    hfd_draw_days(out, true, page->answer, page->arena);
    hfd_buf_text(out, "</div>\n</section>\n");
}

void hfd_visit_page(struct hfd_buf *out, const struct hfd_visit_page *page) {
    hfd_html_begin(out, &page->frame);
    put_head(out, page);
    put_links(out, page);
    if (page->answer)
        put_evaluation(out, page);
    else
        put_missing(out, page->missing);
    put_worn(out, page);
    put_done(out, page);
    if (page->answer) {
        put_more(out, page);
        hfd_buf_text(out, "<section class=\"basis\">\n<h2>Basis</h2>\n");
        hfd_told_basis(out, page->answer, page->digest);
        hfd_buf_text(out, "</section>\n");
    }
    hfd_html_end(out);
}
