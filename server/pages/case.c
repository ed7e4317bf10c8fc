/* The sheet of a course of treatment, and the page of a patient. */
#include <string.h>

#include "../draw/progress.h"
#include "chart.h"
#include "told.h"

static void put_dates(struct hfd_buf *out, const char *from, const char *to) {
    hfd_html_date(out, from);
    hfd_buf_text(out, " to ");
    if (to)
        hfd_html_date(out, to);
    else
        hfd_buf_text(out, "now");
}

static void begin_table(struct hfd_buf *out, const char *caption, const char *heads) {
    hfd_html(out,
        "<div class=\"scroll\" tabindex=\"0\" role=\"group\" aria-label=\"%s\">\n<table>\n<caption><h2>%s</h2></caption>\n<thead>\n<tr>",
        caption, caption);
    hfd_buf_text(out, heads);
    hfd_buf_text(out, "</tr>\n</thead>\n<tbody>\n");
}

static void end_table(struct hfd_buf *out) {
    hfd_buf_text(out, "</tbody>\n</table>\n</div>\n");
}

static void put_screws(
    struct hfd_buf *out, const struct hfd_chart_screw *screws, size_t count, bool with_case) {
    if (count == 0) return;
    hfd_buf_text(out, "<section>\n");
    begin_table(out, "Screws",
        with_case
            ? "<th scope=\"col\">Screw</th><th scope=\"col\">Site</th><th scope=\"col\">Model</th>"
              "<th scope=\"col\">Placed</th><th scope=\"col\">State</th><th scope=\"col\">Treatment</th>"
            : "<th scope=\"col\">Screw</th><th scope=\"col\">Site</th><th scope=\"col\">Model</th>"
              "<th scope=\"col\">Placed</th><th scope=\"col\">State</th><th scope=\"col\">Lot</th>");
    for (size_t i = 0; i < count; i++) {
        const struct hfd_chart_screw *s = &screws[i];
        hfd_html(out, "<tr><th scope=\"row\">%s</th><td>%s</td><td>%s</td><td>", s->name, s->site, s->model);
        hfd_html_date(out, s->placed_on);
        hfd_html(out, "</td><td>%s", s->state);
        if (s->state_on) {
            hfd_buf_text(out, " since ");
            hfd_html_date(out, s->state_on);
        }
        if (s->state_reason) hfd_html(out, ": %s", s->state_reason);
        hfd_html(out, "</td><td>%s</td></tr>\n", with_case ? s->case_title : s->lot);
    }
    end_table(out);
    hfd_buf_text(out, "</section>\n");
}

/* ---------------------------------------------------------------- a course */

static void put_case_head(struct hfd_buf *out, const struct hfd_case_page *page) {
    const struct hfd_chart_case *c = &page->course;
    hfd_html(
        out, "<header class=\"sheet-head\">\n<h1>%s</h1>\n", c->title ? c->title : "Course of treatment");
    hfd_chart_who(out, &page->patient);
    hfd_html(out, "<dl class=\"facts\">\n<div><dt>State</dt><dd>%s, ", c->state);
    put_dates(out, c->opened_on, c->closed_on);
    hfd_buf_text(out, "</dd></div>\n");
    if (c->clinician) hfd_html(out, "<div><dt>Clinician</dt><dd>%s</dd></div>\n", c->clinician);
    if (c->chair) hfd_html(out, "<div><dt>Chair</dt><dd>%s</dd></div>\n", c->chair);
    hfd_buf_text(out, "<div><dt>Next visit</dt><dd>");
    hfd_html_date(out, c->next_on);
    hfd_buf_text(out, "</dd></div>\n</dl>\n");
    if (c->note) hfd_html(out, "<p class=\"note\"><bdi>%s</bdi></p>\n", c->note);
    hfd_buf_text(out, "</header>\n");
}

static void put_progress(struct hfd_buf *out, const struct hfd_case_page *page) {
    hfd_buf_text(out, "<section class=\"progress\">\n<h2>Plan against measured</h2>\n");
    if (page->progress == NULL) {
        hfd_buf_text(out, "<p>No goals are recorded.</p>\n</section>\n");
        return;
    }
    hfd_buf_text(out, "<div class=\"scroll\" tabindex=\"0\" role=\"group\" aria-label=\"Progress\">\n");
    hfd_draw_progress(out, true, page->progress);
    hfd_buf_text(out, "</div>\n");
    hfd_told_findings(out, page->progress->findings, page->progress->finding_count, page->arena);
    hfd_html(out, "<p class=\"notice\">%s</p>\n", page->progress->notice);
    hfd_buf_text(out, "</section>\n");
}

static void put_visits(struct hfd_buf *out, const struct hfd_case_page *page) {
    hfd_buf_text(out, "<section>\n");
    begin_table(out, "Visits",
        "<th scope=\"col\">Day</th><th scope=\"col\">What pulls</th><th scope=\"col\">Done</th><th scope=\"col\">Next</th>");
    for (size_t i = 0; i < page->visit_count; i++) {
        const struct hfd_chart_visit *v = &page->visits[i];
        hfd_html(out, "<tr><th scope=\"row\"><a href=\"/v1/visits/%s.html\">", v->id);
        hfd_html_date(out, v->visited_on);
        hfd_html(out, "</a></th><td>%s</td><td>%s</td><td>", v->elements, v->actions);
        hfd_html_date(out, v->next_on);
        hfd_buf_text(out, "</td></tr>\n");
    }
    end_table(out);
    hfd_buf_text(out, "</section>\n");
}

static void put_stages(struct hfd_buf *out, const struct hfd_case_page *page) {
    if (page->stage_count == 0) return;
    hfd_buf_text(out, "<section>\n");
    begin_table(out, "Stages",
        "<th scope=\"col\">Stage</th><th scope=\"col\">Planned</th><th scope=\"col\">Note</th>");
    for (size_t i = 0; i < page->stage_count; i++) {
        const struct hfd_chart_stage *s = &page->stages[i];
        hfd_html(out, "<tr><th scope=\"row\">%s</th><td>", s->name);
        hfd_html_date(out, s->planned_from);
        hfd_buf_text(out, " to ");
        hfd_html_date(out, s->planned_to);
        hfd_html(out, "</td><td>%s</td></tr>\n", s->note);
    }
    end_table(out);
    hfd_buf_text(out, "</section>\n");
}

static void put_setups(struct hfd_buf *out, const struct hfd_case_page *page) {
    if (page->setup_count == 0) return;
    hfd_buf_text(out, "<section>\n");
    begin_table(out, "Plates as worn",
        "<th scope=\"col\">Plate</th><th scope=\"col\">Purpose</th><th scope=\"col\">Version</th><th scope=\"col\">Worn</th>");
    for (size_t i = 0; i < page->setup_count; i++) {
        const struct hfd_chart_setup *s = &page->setups[i];
        hfd_html(
            out, "<tr><th scope=\"row\">%s</th><td>%s</td><td>%s</td><td>", s->name, s->purpose, s->version);
        put_dates(out, s->worn_from, s->worn_to);
        hfd_buf_text(out, "</td></tr>\n");
    }
    end_table(out);
    hfd_buf_text(out, "</section>\n");
}

static void put_timeline(struct hfd_buf *out, const struct hfd_case_page *page) {
    if (page->entry_count == 0) return;
    hfd_buf_text(out, "<section>\n<h2>What happened</h2>\n<ol class=\"timeline\">\n");
    for (size_t i = 0; i < page->entry_count; i++) {
        const struct hfd_chart_entry *e = &page->entries[i];
        hfd_buf_text(out, "<li>");
        hfd_html_date(out, e->day);
        bool leads = strcmp(e->of, "visits") == 0;
        if (leads) hfd_html(out, " <a href=\"/v1/visits/%s.html\">", e->id);
        hfd_html(out, leads ? "<bdi>%s</bdi></a></li>\n" : " <bdi>%s</bdi></li>\n", e->words);
    }
    hfd_buf_text(out, "</ol>\n</section>\n");
}

void hfd_case_page(struct hfd_buf *out, const struct hfd_case_page *page) {
    hfd_html_begin(out, &page->frame);
    put_case_head(out, page);
    put_progress(out, page);
    put_visits(out, page);
    put_stages(out, page);
    put_timeline(out, page);
    put_setups(out, page);
    put_screws(out, page->screws, page->screw_count, false);
    hfd_html_end(out);
}

/* ---------------------------------------------------------------- a patient */

static void put_cases(struct hfd_buf *out, const struct hfd_patient_page *page) {
    if (page->case_count == 0) {
        hfd_buf_text(out, "<p>No course of treatment yet.</p>\n");
        return;
    }
    hfd_buf_text(out, "<section>\n");
    begin_table(out, "Courses of treatment",
        "<th scope=\"col\">Treatment</th><th scope=\"col\">State</th><th scope=\"col\">Clinician</th>"
        "<th scope=\"col\">From, to</th><th scope=\"col\" class=\"number\">Visits</th><th scope=\"col\">Last</th>"
        "<th scope=\"col\">Next</th>");
    for (size_t i = 0; i < page->case_count; i++) {
        const struct hfd_chart_case *c = &page->cases[i];
        hfd_html(out,
            "<tr><th scope=\"row\"><a href=\"/v1/cases/%s.html\">%s</a></th><td>%s</td><td>%s</td><td>",
            c->id, c->title ? c->title : "untitled", c->state, c->clinician);
        put_dates(out, c->opened_on, c->closed_on);
        hfd_html(out, "</td><td class=\"number\">%s</td><td>", c->visits);
        hfd_html_date(out, c->last_on);
        hfd_buf_text(out, "</td><td>");
        hfd_html_date(out, c->next_on);
        hfd_buf_text(out, "</td></tr>\n");
    }
    end_table(out);
    hfd_buf_text(out, "</section>\n");
}

void hfd_patient_page(struct hfd_buf *out, const struct hfd_patient_page *page) {
    hfd_html_begin(out, &page->frame);
    hfd_html(out, "<h1><bdi>%s</bdi></h1>\n", hfd_chart_name(&page->patient, page->arena));
    hfd_chart_who(out, &page->patient);
    if (page->patient.note) hfd_html(out, "<p class=\"note\"><bdi>%s</bdi></p>\n", page->patient.note);
    put_cases(out, page);
    put_screws(out, page->screws, page->screw_count, true);
    hfd_html_end(out);
}
