/* The figures of both cases and what differs. Each row says where the answer has them (list, name, member),
 * so that whoever has another answer, such as the page's script, can fill it anew. */
#include <math.h>
#include <string.h>

#include "../draw/svg.h"
#include "told.h"
#include "what_if.h"

/* Alone, or with its range. */
static hf_range alone(double value) {
    return (hf_range){NAN, value, NAN};
}

static hf_range element_force(const hf_answer *a, size_t i) {
    return alone(a->elements[i].force_n);
}
static hf_range segment_force(const hf_answer *a, size_t i) {
    return alone(hf_norm(a->segments[i].force_n));
}
static hf_range segment_moment(const hf_answer *a, size_t i) {
    return alone(hf_norm(a->segments[i].moment_nmm));
}
static hf_range segment_rate(const hf_answer *a, size_t i) {
    return a->segments[i].expected;
}
static hf_range screw_axis_moment(const hf_answer *a, size_t i) {
    return alone(a->screws[i].load.axis_moment_nmm);
}
static hf_range screw_cortex(const hf_answer *a, size_t i) {
    return alone(a->screws[i].load.cortex_of_limit);
}
static hf_range screw_loss(const hf_answer *a, size_t i) {
    return a->screws[i].loss;
}

struct figure {
    const char *list, *member, *what, *unit; /* what NULL: the only one, told by the name */
    double scale;
    int digits;
    hf_range (*of)(const hf_answer *answer, size_t i);
};

static const struct figure element_figures[] = {
    {"elements", "force_n", NULL, "N", 1.0, 3, element_force},
};
static const struct figure segment_figures[] = {
    {"segments", "force_n", "Force", "N", 1.0, 3, segment_force},
    {"segments", "moment_nmm", "Moment at its centre of resistance", "N·mm", 1.0, 3, segment_moment},
    {"segments", "expected/rate_mm_per_month", "Expected movement", "mm a month", 1.0, 2, segment_rate},
};
static const struct figure screw_figures[] = {
    {"screws", "axis_moment_nmm", "Moment about its axis, + unscrews", "N·mm", 1.0, 3, screw_axis_moment},
    {"screws", "cortex/of_limit", "Stress of the bone at the rim, of its limit", "%", 100.0, 3, screw_cortex},
    {"stability/screws", "loss", "Lost within %d days", "%", 100.0, 2, screw_loss},
};

#define NAME_OF(list)                                                                                        \
    static const char *list##_name(const hf_answer *answer, size_t i) {                                      \
        return i < answer->list##_count ? answer->list##s[i].name : NULL;                                    \
    }
NAME_OF(element)
NAME_OF(segment)
NAME_OF(screw)

static const struct kind {
    const char *title, *what;
    const char *(*name)(const hf_answer *answer, size_t i); /* NULL: no more */
    const struct figure *figures;
    size_t count;
    bool moves; /* has a movement in words */
} kinds[] = {
    {"What each group of teeth does", "Group", segment_name, segment_figures, 3, true},
    {"What each screw feels", "Screw", screw_name, screw_figures, 3, false},
    {"Force that day", "Element", element_name, element_figures, 1, false},
};

static const size_t nowhere = (size_t)-1;

static size_t find(const hf_answer *answer, const struct kind *kind, const char *name) {
    const char *at;
    for (size_t i = 0; answer != NULL && (at = kind->name(answer, i)) != NULL; i++)
        if (strcmp(at, name) == 0) return i;
    return nowhere;
}

static void put_figure(struct hfd_buf *out, const struct figure *figure, hf_range value, hf_arena *arena) {
    if (!isfinite(value.mid)) {
        hfd_buf_text(out, "–");
        return;
    }
    hfd_buf_text(out, "<data value=\"");
    hfd_buf_json_real12(out, value.mid);
    hfd_html(out, "\">%s&#160;%s</data>", hfd_svg_number(arena, figure->scale * value.mid, figure->digits),
        figure->unit);
    if (!isfinite(value.low)) return;
    hfd_html(out, " <span class=\"quiet\">(%s to ",
        hfd_svg_number(arena, figure->scale * value.low, figure->digits));
    hfd_html(out, "%s)</span>", hfd_svg_number(arena, figure->scale * value.high, figure->digits));
}

/* Less than a thousandth is no difference that anyone could see. */
static void put_difference(
    struct hfd_buf *out, const struct figure *figure, double recorded, double variant, hf_arena *arena) {
    const double by = figure->scale * (variant - recorded);
    if (!isfinite(by))
        hfd_buf_text(out, "–");
    else if (!(fabs(variant - recorded) > 0.001 * fmax(fabs(variant), fabs(recorded))))
        hfd_buf_text(out, "same");
    else
        hfd_html(out, "<strong>%s %s&#160;%s</strong>", by > 0.0 ? "▲ up" : "▼ down",
            hfd_svg_number(arena, fabs(by), 2), figure->unit);
}

static void put_figure_row(struct hfd_buf *out, const struct hfd_what_if_page *page,
    const struct figure *figure, const char *name, size_t recorded, size_t variant) {
    const hf_range before = figure->of(page->recorded.answer, recorded);
    const char *what = name;
    if (figure->what) what = hf_arena_printf(page->arena, figure->what, page->recorded.answer->horizon_days);
    hfd_html(out, "<tr data-list=\"%s\" data-name=\"%s\" data-member=\"%s\" data-unit=\"%s\" ", figure->list,
        name, figure->member, figure->unit);
    hfd_html(out, "data-scale=\"%d\" data-digits=\"%d\"><th scope=\"row\"><bdi>%s</bdi></th><td>",
        (int)figure->scale, figure->digits, what);
    put_figure(out, figure, before, page->arena);
    hfd_buf_text(out, "</td><td>");
    if (variant == nowhere) {
        hfd_html(out, "–</td><td>%s", page->variant.answer ? "left out" : "–");
    } else {
        const hf_range after = figure->of(page->variant.answer, variant);
        put_figure(out, figure, after, page->arena);
        hfd_buf_text(out, "</td><td>");
        put_difference(out, figure, before.mid, after.mid, page->arena);
    }
    hfd_buf_text(out, "</td></tr>\n");
}

static void put_movement(
    struct hfd_buf *out, const struct hfd_what_if_page *page, size_t recorded, size_t variant) {
    const hf_segment_out *before = &page->recorded.answer->segments[recorded],
                         *after = variant == nowhere ? NULL : &page->variant.answer->segments[variant];
    hfd_html(out,
        "<tr data-list=\"segments\" data-name=\"%s\" data-member=\"movement\"><th scope=\"row\">Movement</th>"
        "<td>%s</td><td>%s</td><td>",
        before->name, before->movement, after ? after->movement : "–");
    if (after == NULL)
        hfd_buf_text(out, "–");
    else
        hfd_buf_text(out, strcmp(before->movement, after->movement) == 0 ? "same" : "<strong>other</strong>");
    hfd_buf_text(out, "</td></tr>\n");
}

static void put_subject(
    struct hfd_buf *out, const struct hfd_what_if_page *page, const struct kind *kind, size_t i) {
    const char *name = kind->name(page->recorded.answer, i);
    const size_t variant = find(page->variant.answer, kind, name);
    if (kind->figures[0].what == NULL) {
        put_figure_row(out, page, kind->figures, name, i, variant);
        return;
    }
    hfd_html(out, "<tr><th scope=\"rowgroup\" colspan=\"4\"><bdi>%s</bdi>", name);
    if (kind->moves) {
        const hf_segment_out *segment = &page->recorded.answer->segments[i];
        hfd_buf_text(out, " <span class=\"quiet\">");
        for (size_t t = 0; t < segment->tooth_count; t++)
            hfd_html(out, t > 0 ? " %d" : "%d", segment->teeth[t]);
        hfd_buf_text(out, "</span>");
    }
    hfd_buf_text(out, "</th></tr>\n");
    if (kind->moves) put_movement(out, page, i, variant);
    for (size_t f = 0; f < kind->count; f++)
        put_figure_row(out, page, &kind->figures[f], name, i, variant);
}

void hfd_what_if_figures(struct hfd_buf *out, const struct hfd_what_if_page *page) {
    for (size_t k = 0; k < sizeof kinds / sizeof *kinds; k++) {
        if (kinds[k].name(page->recorded.answer, 0) == NULL) continue;
        hfd_html(out,
            "<section class=\"figures\">\n<h2 id=\"kind-%d\">%s</h2>\n<div class=\"scroll\" tabindex=\"0\" role=\"group\" "
            "aria-labelledby=\"kind-%d\">\n<table aria-labelledby=\"kind-%d\">\n<thead>\n<tr>",
            (int)k, kinds[k].title, (int)k, (int)k);
        hfd_html(out,
            "<th scope=\"col\">%s</th><th scope=\"col\">As recorded</th>"
            "<th scope=\"col\">Variant</th><th scope=\"col\">Difference</th></tr>\n</thead>\n",
            kinds[k].what);
        for (size_t i = 0; kinds[k].name(page->recorded.answer, i) != NULL; i++) {
            hfd_buf_text(out, i > 0 ? "</tbody>\n<tbody>\n" : "<tbody>\n");
            put_subject(out, page, &kinds[k], i);
        }
        hfd_buf_text(out, "</tbody>\n</table>\n</div>\n</section>\n");
    }
}

/* ---------------------------------------------------------------- findings */

static bool has(const struct hfd_what_if_side *side, const hf_finding *finding) {
    for (size_t i = 0; i < side->answer->finding_count; i++) {
        const hf_finding *f = &side->answer->findings[i];
        const bool same_name =
            f->name == finding->name || (f->name && finding->name && !strcmp(f->name, finding->name));
        if (strcmp(f->code, finding->code) == 0 && f->severity == finding->severity && same_name) return true;
    }
    return false;
}

static void put_finding(struct hfd_buf *out, const hf_finding *f, const char *mark) {
    hfd_html(out, "<li data-key=\"%s %s %s\" class=\"%s\">", f->code, hf_severity_names[f->severity],
        f->name ? f->name : "", mark ? mark : "");
    if (mark) hfd_html(out, "<span class=\"mark\">%s</span> ", mark);
    hfd_told_severity(out, f->severity);
    if (f->name) hfd_html(out, " <b><bdi>%s</bdi>.</b>", f->name);
    hfd_html(out, " <span>%s</span></li>\n", f->message);
}

/* The worst first. */
static void put_list(struct hfd_buf *out, const struct hfd_what_if_side *side,
    const struct hfd_what_if_side *other, const char *mark) {
    for (int severity = HF_STOP; severity >= HF_NOTE; severity--)
        for (size_t i = 0; i < side->answer->finding_count; i++) {
            const hf_finding *f = &side->answer->findings[i];
            const bool apart = other != NULL && !has(other, f);
            if ((int)f->severity == severity && (apart || mark == NULL || strcmp(mark, "gone") != 0))
                put_finding(out, f, apart ? mark : NULL);
        }
}

void hfd_what_if_findings(struct hfd_buf *out, const struct hfd_what_if_page *page) {
    hfd_buf_text(
        out, "<section class=\"pair\">\n<div>\n<h2>Findings as recorded</h2>\n<ul class=\"findings\">\n");
    put_list(out, &page->recorded, NULL, NULL);
    hfd_buf_text(out,
        "</ul>\n</div>\n<div>\n<h2>Findings of the variant</h2>\n<ul class=\"findings\" id=\"variant-findings\">\n");
    if (page->variant.answer != NULL) {
        put_list(out, &page->variant, &page->recorded, "new");
        put_list(out, &page->recorded, &page->variant, "gone");
    }
    hfd_buf_text(out, "</ul>\n</div>\n</section>\n");
}
