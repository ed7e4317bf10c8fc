#include "lists.h"

#include <stdlib.h>
#include <string.h>

#include "told.h"

static void put_name(struct hfd_buf *out, const char *family, const char *given, const char *chart_number) {
    if (family == NULL && given == NULL)
        hfd_html(out, "<bdi>%s</bdi>", chart_number);
    else
        hfd_html(out, "<bdi>%s</bdi>%s<bdi>%s</bdi>", family ? family : "", family && given ? ", " : "",
            given ? given : "");
}

static void put_next(struct hfd_buf *out, const char *next) {
    if (next) hfd_html(out, "<p class=\"pager\"><a rel=\"next\" href=\"%s\">Next page →</a></p>\n", next);
}

static void put_field(
    struct hfd_buf *out, const char *name, const char *label, const char *type, const char *value) {
    hfd_html(out, "<div><label for=\"%s\">%s</label><input id=\"%s\" name=\"%s\" type=\"%s\" ", name, label,
        name, name, type);
    hfd_html(out, "value=\"%s\"></div>\n", value ? value : "");
}

void hfd_patients_page(struct hfd_buf *out, const struct hfd_patients_page *page) {
    hfd_html_begin(out, &page->frame);
    hfd_buf_text(
        out, "<h1>Patients</h1>\n<form class=\"filter\" method=\"get\" action=\"/v1/patients.html\">\n");
    put_field(out, "chart_number", "Chart number", "text", page->chart_number);
    put_field(out, "family_name", "Family name", "text", page->family_name);
    hfd_buf_text(out, "<button>Find</button>\n</form>\n");
    if (page->count == 0) hfd_buf_text(out, "<p>No such patient.</p>\n");
    if (page->count > 0)
        hfd_buf_text(out,
            "<section>\n<div class=\"scroll\" tabindex=\"0\" role=\"group\" aria-label=\"By chart number\">\n<table>\n"
            "<caption><h2>By chart number</h2></caption>\n<thead>\n<tr>"
            "<th scope=\"col\">Chart</th><th scope=\"col\">Name</th><th scope=\"col\">Born</th></tr>\n"
            "</thead>\n<tbody>\n");
    for (size_t i = 0; i < page->count; i++) {
        const struct hfd_listed_patient *p = &page->patients[i];
        hfd_html(out, "<tr><th scope=\"row\"><a href=\"/v1/patients/%s.html\"><bdi>%s</bdi></a></th><td>",
            p->id, p->chart_number);
        put_name(out, p->family_name, p->given_name, "–");
        hfd_buf_text(out, "</td><td>");
        hfd_html_date(out, p->birth_date);
        hfd_buf_text(out, "</td></tr>\n");
    }
    if (page->count > 0) hfd_buf_text(out, "</tbody>\n</table>\n</div>\n</section>\n");
    put_next(out, page->next);
    hfd_html_end(out);
}

/* ---------------------------------------------------------------- the worklist */

static const char *const dues[] = {"overdue", "due", "unplanned", NULL}, *const yes[] = {"true", NULL};

static void put_choice(struct hfd_buf *out, const char *name, const char *label, const char *all,
    const char *const *choices, const char *chosen) {
    hfd_html(
        out, "<div><label for=\"%s\">%s</label><select id=\"%s\" name=\"%s\">\n", name, label, name, name);
    hfd_html(out, "<option value=\"\">%s</option>\n", all);
    for (; *choices != NULL; choices++) {
        bool is_it = chosen != NULL && strcmp(*choices, chosen) == 0;
        hfd_html(out,
            is_it ? "<option value=\"%s\" selected>%s</option>\n" : "<option value=\"%s\">%s</option>\n",
            *choices, strcmp(*choices, "true") == 0 ? "at risk only" : *choices);
    }
    hfd_buf_text(out, "</select></div>\n");
}

static void put_filter(struct hfd_buf *out, const struct hfd_worklist_page *page) {
    hfd_buf_text(out, "<form class=\"filter\" method=\"get\" action=\"/v1/worklist.html\">\n");
    put_field(out, "on", "Day", "date", page->on);
    put_choice(out, "clinician", "Clinician", "all", page->clinicians, page->clinician);
    put_choice(out, "chair", "Chair", "all", page->chairs, page->chair);
    put_choice(out, "due", "Next visit", "all", dues, page->due);
    put_choice(out, "at_risk", "Screws", "all", yes, page->at_risk);
    hfd_buf_text(out, "<button>Show</button>\n</form>\n");
}

static void put_screws(struct hfd_buf *out, const char *count, const char *word) {
    if (count && strcmp(count, "0") != 0) hfd_html(out, " %s&#160;%s", count, word);
}

/* Why somebody should look: screws that are not firm, the worst finding, the risk until the next visit. */
static void put_state(struct hfd_buf *out, const struct hfd_listed_case *c, hf_arena *arena) {
    for (hf_severity severity = HF_NOTE; severity < HF_SEVERITY_COUNT; severity++)
        if (c->severity && strcmp(c->severity, hf_severity_names[severity]) == 0)
            hfd_told_severity(out, severity);
    put_screws(out, c->loose_screws, "loose");
    put_screws(out, c->mobile_screws, "felt to move");
    put_screws(out, c->lost_screws, "lost");
    if (strcmp(c->evaluation, "done") != 0)
        hfd_html(out, " <span class=\"quiet\">evaluation %s</span>", c->evaluation);
    hfd_buf_text(out, "</td><td class=\"number\">");
    if (c->loss == NULL)
        hfd_buf_text(out, "–");
    else
        hfd_told_share(out, arena,
            (hf_range){strtod(c->loss_low, NULL), strtod(c->loss, NULL), strtod(c->loss_high, NULL)});
}

static void put_case(struct hfd_buf *out, const struct hfd_listed_case *c) {
    hfd_html(out, "<tr><th scope=\"row\"><a href=\"/v1/patients/%s.html\">", c->patient_id);
    put_name(out, c->family_name, c->given_name, c->chart_number);
    hfd_html(out,
        "</a> <span class=\"quiet\">%s</span></th><td><a href=\"/v1/cases/%s.html\">%s</a></td><td>",
        c->chart_number, c->id, c->title ? c->title : "untitled");
    hfd_html(out, "%s", c->clinician);
    if (c->chair) hfd_html(out, "<br><span class=\"quiet\">%s</span>", c->chair);
    hfd_buf_text(out, "</td><td>");
    if (c->visit_id) hfd_html(out, "<a href=\"/v1/visits/%s.html\">", c->visit_id);
    hfd_html_date(out, c->visited_on);
    if (c->visit_id) hfd_buf_text(out, "</a>");
    hfd_buf_text(out, "</td><td>");
    hfd_html_date(out, c->next_on);
    if (strcmp(c->due, "overdue") == 0)
        hfd_html(out, "<br><span class=\"quiet\">%s days ago</span>", c->overdue_days);
    hfd_buf_text(out, "</td><td>");
    put_state(out, c, out->arena);
    hfd_buf_text(out, "</td></tr>\n");
}

/* Who is at risk stands there alone, whenever due. */
static bool belongs(const struct hfd_listed_case *c, const char *due) {
    const bool at_risk = c->at_risk[0] == 't';
    return due == NULL ? at_risk : !at_risk && strcmp(c->due, due) == 0;
}

static void put_section(
    struct hfd_buf *out, const struct hfd_worklist_page *page, const char *due, const char *title) {
    size_t n = 0;
    for (size_t i = 0; i < page->count; i++)
        n += belongs(&page->cases[i], due);
    if (n == 0) return;
    hfd_html(out,
        "<section>\n<div class=\"scroll\" tabindex=\"0\" role=\"group\" aria-label=\"%s\">\n<table>\n"
        "<caption><h2>%s <span class=\"quiet\">(%d)</span></h2></caption>\n<thead>\n<tr><th scope=\"col\">Patient</th>"
        "<th scope=\"col\">Treatment</th><th scope=\"col\">Clinician, chair</th><th scope=\"col\">Last visit</th>"
        "<th scope=\"col\">Next visit</th><th scope=\"col\">State</th>"
        "<th scope=\"col\" class=\"number\">Screw most at risk lost by then</th></tr>\n</thead>\n<tbody>\n",
        title, title, (int)n);
    for (size_t i = 0; i < page->count; i++)
        if (belongs(&page->cases[i], due)) put_case(out, &page->cases[i]);
    hfd_buf_text(out, "</tbody>\n</table>\n</div>\n</section>\n");
}

void hfd_worklist_page(struct hfd_buf *out, const struct hfd_worklist_page *page) {
    hfd_html_begin(out, &page->frame);
    hfd_buf_text(out, "<h1>Worklist</h1>\n");
    put_filter(out, page);
    if (page->count == 0) hfd_buf_text(out, "<p>Nobody: no case is due, overdue or at risk.</p>\n");
    put_section(out, page, NULL, "At risk");
    put_section(out, page, "overdue", "Overdue");
    put_section(out, page, "due", "Due on the day");
    put_section(out, page, "unplanned", "No next visit planned");
    put_section(out, page, "ahead", "Ahead");
    put_next(out, page->next);
    hfd_html_end(out);
}
