#include "what_if.h"

#include <stdlib.h>
#include <string.h>

#include "../../core/evaluate.h"
#include "../draw/free_body.h"

static const double n_per_gf = 0.00980665;

enum { FRONTAL, SAGITTAL, OCCLUSAL, ALL, SEEN_COUNT };
const char *const hfd_what_if_seen[] = {"frontal", "sagittal", "occlusal", "all", NULL};
static const char *const seen_words[SEEN_COUNT] = {
    "from the front", "from the side", "from below or above", "from all sides"};
static const unsigned seen_views[SEEN_COUNT] = {
    HFD_VIEW(HF_FRONTAL), HFD_VIEW(HF_SAGITTAL), HFD_VIEW(HF_OCCLUSAL), HFD_ALL_VIEWS};

/* ---------------------------------------------------------------- the form */

static void put_fault(struct hfd_buf *out, int id, const struct hfd_asked *field) {
    hfd_html(out, "<p class=\"fault\" id=\"fault-%d\">%s</p>\n", id, field->fault ? field->fault : "");
}

static void put_input(struct hfd_buf *out, int id, const struct hfd_asked *field, const char *more) {
    hfd_html(out, "<input id=\"asked-%d\" name=\"%s\" value=\"%s\" ", id, field->name, field->text);
    hfd_html(out, "data-recorded=\"%s\" type=\"number\" aria-describedby=\"fault-%d\" ", field->recorded, id);
    if (field->fault) hfd_buf_text(out, "aria-invalid=\"true\" ");
    hfd_buf_text(out, more);
    hfd_buf_char(out, '>');
}

static void put_force(struct hfd_buf *out, int id, const struct hfd_asked *field, hf_arena *arena) {
    char *end;
    const double newtons = strtod(field->text, &end);
    hfd_html(
        out, "<div class=\"asked\">\n<label for=\"asked-%d\"><bdi>%s</bdi></label>\n<span>", id, field->of);
    put_input(out, id, field, "step=\"0.1\" min=\"0\" max=\"20\" inputmode=\"decimal\"");
    hfd_buf_text(out, " N</span> <span class=\"quiet gf\">");
    if (end != field->text) hfd_html(out, "%s gf", hfd_svg_number(arena, newtons / n_per_gf, 3));
    hfd_buf_text(out, "</span>\n");
    put_fault(out, id, field);
    hfd_buf_text(out, "</div>\n");
}

static void put_move(struct hfd_buf *out, int id, const struct hfd_asked *field) {
    static const char *const ways[] = {"to the left (−: to the right)", "back (−: forward)", "up (−: down)"};
    if (field->axis == 0)
        hfd_html(out, "<fieldset class=\"point\">\n<legend><bdi>%s</bdi></legend>\n", field->of);
    hfd_html(out, "<div class=\"asked\">\n<label for=\"asked-%d\">%s</label>\n<span>", id, ways[field->axis]);
    struct hfd_buf more;
    hfd_buf_init(&more, out->arena, 64);
    hfd_buf_text(&more, "step=\"0.5\" inputmode=\"decimal\" data-from=\"");
    hfd_buf_json_real(&more, field->from_mm);
    hfd_buf_char(&more, '"');
    put_input(out, id, field, more.text);
    hfd_buf_text(out, " mm</span>\n");
    put_fault(out, id, field);
    hfd_buf_text(out, field->axis == 2 ? "</div>\n</fieldset>\n" : "</div>\n");
}

static void put_without(struct hfd_buf *out, int id, const struct hfd_asked *field) {
    hfd_html(out, "<div class=\"tick\"><input id=\"asked-%d\" type=\"checkbox\" name=\"%s\" value=\"%s\"", id,
        field->name, HFD_WHAT_IF_OUT);
    hfd_html(out, "%s> <label for=\"asked-%d\">without <bdi>%s</bdi></label></div>\n",
        *field->text ? " checked" : "", id, field->of);
}

static void put_days(struct hfd_buf *out, int id, const struct hfd_asked *field) {
    hfd_html(out, "<div class=\"asked\">\n<label for=\"asked-%d\">later by</label>\n<span>", id);
    put_input(out, id, field, "step=\"1\" min=\"0\" max=\"3650\" inputmode=\"numeric\"");
    hfd_buf_text(out, " days</span>\n");
    put_fault(out, id, field);
    hfd_buf_text(out, "</div>\n");
}

/* Fields of a kind under one heading; none: no heading either. */
static void put_group(struct hfd_buf *out, const struct hfd_what_if_page *page, enum hfd_asked_kind kind,
    const char *legend, const char *help) {
    bool begun = false;
    for (size_t i = 0; i < page->field_count; i++) {
        const struct hfd_asked *field = &page->fields[i];
        if (field->kind != kind) continue;
        if (!begun)
            hfd_html(out, "<fieldset>\n<legend>%s</legend>\n<p class=\"quiet\">%s</p>\n", legend, help);
        begun = true;
        if (kind == HFD_ASKED_FORCE) put_force(out, (int)i, field, page->arena);
        if (kind == HFD_ASKED_MOVE) put_move(out, (int)i, field);
        if (kind == HFD_ASKED_WITHOUT) put_without(out, (int)i, field);
        if (kind == HFD_ASKED_DAYS) put_days(out, (int)i, field);
    }
    if (begun) hfd_buf_text(out, "</fieldset>\n");
}

static void put_seen(struct hfd_buf *out, const struct hfd_what_if_page *page) {
    hfd_buf_text(out,
        "<fieldset>\n<legend>Drawing</legend>\n<div class=\"asked\">\n<label for=\"seen\">Seen</label>\n"
        "<select id=\"seen\" name=\"seen\">\n");
    for (size_t i = 0; i < SEEN_COUNT; i++)
        hfd_html(out, "<option value=\"%s\"%s>%s</option>\n", hfd_what_if_seen[i],
            i == page->seen ? " selected" : "", seen_words[i]);
    hfd_buf_text(out, "</select>\n</div>\n</fieldset>\n");
}

void hfd_what_if_form(struct hfd_buf *out, const struct hfd_what_if_page *page) {
    hfd_html(out,
        "<form class=\"what-if\" method=\"get\" action=\"/v1/visits/%s/what-if\" data-visit=\"%s\" data-on=\"%s\" "
        "novalidate>\n<h2 class=\"unseen\">What is different</h2>\n<div class=\"groups\">\n",
        page->visit_id, page->visit_id, page->visited_on);
    put_group(out, page, HFD_ASKED_FORCE, "Force", "When activated. Left empty: by the product's data.");
    put_group(
        out, page, HFD_ASKED_MOVE, "Where it pulls", "How far a fitting is moved; its arm goes with it.");
    put_group(out, page, HFD_ASKED_WITHOUT, "Screws", "Those that are left carry the plate.");
    put_group(out, page, HFD_ASKED_DAYS, "Day", "Forces fade, risk goes on.");
    put_seen(out, page);
    hfd_buf_text(out, "</div>\n<div class=\"fault\" id=\"faults\" role=\"alert\">");
    for (const struct hfd_error *error = page->faults.first; error != NULL; error = error->next)
        hfd_html(out, "<p><code>%s</code> %s</p>", error->pointer, error->detail);
    hfd_html(out,
        "</div>\n<p class=\"go\"><button>Compare</button> <a href=\"/v1/visits/%s/what-if\">As recorded</a> "
        "<span id=\"said\" role=\"status\"></span></p>\n</form>\n",
        page->visit_id);
}

/* ---------------------------------------------------------------- both drawings */

static double put_side(struct hfd_buf *out, const struct hfd_what_if_page *page,
    const struct hfd_what_if_side *side, const char *prefix, const char *title) {
    double mm_per_n = 0.0;
    hfd_html(out, "<div>\n<h2 id=\"%s-head\">%s", prefix, title);
    hfd_html(out, " <span id=\"%s-day\" class=\"quiet\">", prefix);
    if (side->answer != NULL) hfd_html_day(out, side->answer->on);
    hfd_html(out,
        "</span></h2>\n<div class=\"scroll\" id=\"%s\" tabindex=\"0\" role=\"group\" aria-labelledby=\"%s-head\">\n",
        prefix, prefix);
    if (side->answer != NULL)
        mm_per_n = hfd_draw_free_body_of(out, hf_arena_printf(page->arena, "%s-body", prefix), side->in,
            side->answer, seen_views[page->seen], page->arena);
    else
        hfd_buf_text(out, "<p>The variant cannot be computed: the form says why.</p>\n");
    hfd_buf_text(out, "</div>\n</div>\n");
    return mm_per_n;
}

static void put_drawings(struct hfd_buf *out, const struct hfd_what_if_page *page) {
    struct hfd_buf sides;
    hfd_buf_init(&sides, page->arena, 65536);
    const double recorded = put_side(&sides, page, &page->recorded, "recorded", "As recorded"),
                 variant = put_side(&sides, page, &page->variant, "variant", "Variant");
    const bool apart = variant > 0.0 && (recorded > variant || recorded < variant);
    hfd_html(out,
        "<section class=\"pair drawings\">\n<p id=\"scales\" class=\"whole\"%s>▲ The arrows of the two drawings have different "
        "scales: read their figures.</p>\n",
        apart ? "" : " hidden");
    hfd_buf_bytes(out, sides.text, sides.length);
    hfd_buf_text(out, "</section>\n");
}

/* ---------------------------------------------------------------- the page */

static bool stands_among(const hf_answer *answer, const char *key) {
    for (size_t i = 0; i < answer->source_count; i++)
        if (strcmp(answer->sources[i].key, key) == 0) return true;
    return false;
}

static void put_sources(struct hfd_buf *out, const hf_answer *answer, const hf_answer *told) {
    for (size_t i = 0; i < answer->source_count; i++)
        if (told == NULL || !stands_among(told, answer->sources[i].key))
            hfd_html(
                out, "<li><code>%s</code> %s</li>\n", answer->sources[i].key, answer->sources[i].citation);
}

static void put_basis(struct hfd_buf *out, const struct hfd_what_if_page *page) {
    const hf_answer *variant = page->variant.answer;
    hfd_html(out,
        "<section class=\"basis\">\n<h2>Basis</h2>\n<p class=\"notice\">%s</p>\n<p class=\"quiet\">Model %s, parameters "
        "%s. ",
        page->recorded.answer->notice, HF_CORE_VERSION, HF_PARAMETERS_VERSION);
    hfd_html(out,
        "Input as recorded <code>%s</code>, of the variant <code id=\"variant-digest\">%s</code></p>\n",
        page->recorded.digest, variant ? page->variant.digest : "–");
    hfd_buf_text(out, "<ul class=\"sources\" id=\"sources\">\n");
    put_sources(out, page->recorded.answer, NULL);
    if (variant != NULL) put_sources(out, variant, page->recorded.answer);
    hfd_buf_text(out, "</ul>\n</section>\n");
}

void hfd_what_if_page(struct hfd_buf *out, const struct hfd_what_if_page *page) {
    hfd_html_begin(out, &page->frame);
    hfd_buf_text(out, "<h1>What if?</h1>\n");
    hfd_chart_who(out, &page->patient);
    hfd_buf_text(out, "<p>The visit of ");
    hfd_html_date(out, page->visited_on);
    hfd_buf_text(out,
        ": change something and see both cases side by side. Nothing of it is stored; the record stays as it is.</p>\n");
    hfd_what_if_form(out, page);
    put_drawings(out, page);
    hfd_what_if_findings(out, page);
    hfd_what_if_figures(out, page);
    put_basis(out, page);
    hfd_buf_text(out, "<script src=\"/assets/what-if.js\" defer></script>\n");
    hfd_html_end(out);
}
