#include "html.h"

#include <assert.h>
#include <stdarg.h>
#include <string.h>

#include "../base/date.h"

void hfd_html(struct hfd_buf *out, const char *format, ...) {
    va_list args;
    va_start(args, format);
    for (const char *at = format; *at != '\0';) {
        size_t plain = strcspn(at, "%");
        hfd_buf_bytes(out, at, plain);
        at += plain;
        if (*at == '\0') break;
        assert(at[1] == 's' || at[1] == 'd');
        if (at[1] == 's')
            hfd_buf_markup(out, va_arg(args, const char *));
        else
            hfd_buf_json_int(out, va_arg(args, int));
        at += 2;
    }
    va_end(args);
}

void hfd_html_date(struct hfd_buf *out, const char *date) {
    static const char *const months[] = {
        "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
    int day;
    if (date == NULL || !hfd_date_parse(date, &day)) {
        hfd_buf_text(out, "–");
        return;
    }
    const int month = (date[5] - '0') * 10 + date[6] - '0';
    hfd_buf_printf(out, "<time datetime=\"%s\">%.2s&#160;%s&#160;%.4s</time>", date,
        date[8] == '0' ? date + 9 : date + 8, months[month - 1], date);
}

void hfd_html_day(struct hfd_buf *out, int day) {
    char text[HFD_DATE_TEXT];
    hfd_date_print(day, text);
    hfd_html_date(out, text);
}

static void put_head(struct hfd_buf *out, const struct hfd_frame *frame) {
    hfd_html(out,
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
        "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
        "<meta name=\"color-scheme\" content=\"light dark\">\n<title>%s – Holdfast</title>\n"
        "<link rel=\"stylesheet\" href=\"/assets/drawing.css\">\n"
        "<link rel=\"stylesheet\" href=\"/assets/style.css\">\n"
        "<link rel=\"icon\" href=\"/assets/icon.svg\">\n</head>\n",
        frame->title);
    hfd_buf_text(
        out, "<body>\n<a class=\"skip\" href=\"#main\">Skip to the content</a>\n<header class=\"top\">\n");
}

/* The part that says where one is and who. */
static void put_navigation(struct hfd_buf *out, const struct hfd_frame *frame) {
    hfd_buf_text(out, "<a class=\"brand\" href=\"/\"><img src=\"/assets/icon.svg\" alt=\"\" width=\"28\" "
                      "height=\"28\"> Holdfast</a>\n<nav aria-label=\"Main\">\n<ul>\n");
    static const struct hfd_crumb places[] = {
        {"Worklist", "/worklist"}, {"Patients", "/v1/patients"}, {"API", "/api"}};
    for (size_t i = 0; i < sizeof places / sizeof *places; i++)
        hfd_html(out, "<li><a href=\"%s\">%s</a></li>\n", places[i].path, places[i].text);
    hfd_buf_text(out, "</ul>\n</nav>\n");
    if (frame->clinic == NULL) return;
    hfd_html(out,
        "<form class=\"who\" method=\"post\" action=\"/sign-out\"><span>%s, %s</span> "
        "<button>Sign out</button></form>\n",
        frame->clinic, frame->role);
}

static void put_crumbs(struct hfd_buf *out, const struct hfd_frame *frame) {
    if (frame->crumb_count == 0) return;
    hfd_buf_text(out, "<nav class=\"crumbs\" aria-label=\"Breadcrumbs\">\n<ol>\n");
    for (size_t i = 0; i < frame->crumb_count; i++) {
        const struct hfd_crumb *crumb = &frame->crumbs[i];
        if (crumb->path != NULL)
            hfd_html(out, "<li><a href=\"%s\">%s</a></li>\n", crumb->path, crumb->text);
        else
            hfd_html(out, "<li aria-current=\"page\">%s</li>\n", crumb->text);
    }
    hfd_buf_text(out, "</ol>\n</nav>\n");
}

const char hfd_html_invented[] = "Synthetic demonstration data — no real patient.";

void hfd_html_begin(struct hfd_buf *out, const struct hfd_frame *frame) {
    put_head(out, frame);
    put_navigation(out, frame);
    hfd_buf_text(out, "</header>\n");
    if (frame->demo)
        hfd_html(
            out, "<aside class=\"invented\" aria-label=\"Demonstration\">%s</aside>\n", hfd_html_invented);
    put_crumbs(out, frame);
    hfd_html(out, frame->kind ? "<main id=\"main\" class=\"%s\">\n" : "<main id=\"main\">\n", frame->kind);
}

void hfd_html_end(struct hfd_buf *out) {
    hfd_buf_text(out,
        "</main>\n<footer>\n<p>Holdfast supports the judgement of a licensed clinician and local "
        "rules; it replaces neither.</p>\n</footer>\n</body>\n</html>\n");
}
