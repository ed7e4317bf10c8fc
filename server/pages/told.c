#include "told.h"

#include <math.h>
#include <string.h>

#include "../../core/element.h"
#include "../../core/evaluate.h"
#include "../draw/svg.h"

void hfd_told_number(struct hfd_buf *out, hf_arena *arena, double value, int digits, const char *unit) {
    hfd_buf_text(out, hfd_svg_number(arena, value, digits));
    if (isfinite(value)) hfd_html(out, "&#160;%s", unit);
}

/* Published figures have no more than this; what is small is not nothing. */
static const char *percent(hf_arena *arena, double share) {
    if (share > 0.0 && share < 0.001) return "&lt;&#160;0.1";
    return hfd_svg_number(arena, 100.0 * share, share < 0.1 ? 2 : 3);
}

void hfd_told_share(struct hfd_buf *out, hf_arena *arena, hf_range share) {
    if (!isfinite(share.mid)) {
        hfd_buf_text(out, "–");
        return;
    }
    hfd_buf_printf(out, "%s&#160;%%", percent(arena, share.mid));
    hfd_buf_printf(out, " <span class=\"quiet\">(%s to %s)</span>", percent(arena, share.low),
        percent(arena, share.high));
}

void hfd_told_severity(struct hfd_buf *out, hf_severity severity) {
    static const char *const told[HF_SEVERITY_COUNT] = {
        [HF_NOTE] = "● Note", [HF_CAUTION] = "▲ Caution", [HF_STOP] = "■ Stop"};
    hfd_html(out, "<strong class=\"severity %s\">%s</strong>", hf_severity_names[severity], told[severity]);
}

static void begin_table(struct hfd_buf *out, const char *caption, const char *const *heads) {
    hfd_html(out,
        "<div class=\"scroll\" tabindex=\"0\" role=\"group\" aria-label=\"%s\">\n<table>\n<caption><h2>%s</h2></caption>\n<thead>\n<tr>",
        caption, caption);
    for (; *heads != NULL; heads++) {
        bool number = **heads == '#';
        hfd_html(out, number ? "<th scope=\"col\" class=\"number\">%s</th>" : "<th scope=\"col\">%s</th>",
            *heads + number);
    }
    hfd_buf_text(out, "</tr>\n</thead>\n<tbody>\n");
}

static void end_table(struct hfd_buf *out) {
    hfd_buf_text(out, "</tbody>\n</table>\n</div>\n");
}

static void put_cell(struct hfd_buf *out, hf_arena *arena, double value, int digits, const char *unit) {
    hfd_buf_text(out, "<td class=\"number\">");
    hfd_told_number(out, arena, value, digits, unit);
    hfd_buf_text(out, "</td>");
}

/* "closed-coil": "closed coil" */
static const char *plain(const char *word, hf_arena *arena) {
    char *copy = hf_arena_strdup(arena, word);
    for (char *c = copy; *c != '\0'; c++)
        if (*c == '-') *c = ' ';
    return copy;
}

void hfd_told_elements(struct hfd_buf *out, const hf_answer *answer, hf_arena *arena) {
    static const char *const heads[] = {
        "Element", "Kind", "#Force now", "#Left of its first force", "#Days", NULL};
    if (answer->element_count == 0) return;
    begin_table(out, "What pulls", heads);
    for (size_t i = 0; i < answer->element_count; i++) {
        const hf_element_out *e = &answer->elements[i];
        hfd_html(out, "<tr><th scope=\"row\">%s</th><td>%s</td>", e->name,
            plain(hf_element_traits[e->kind].name, arena));
        put_cell(out, arena, e->force_n, 3, "N");
        put_cell(out, arena, 100.0 * e->retained_fraction, 2, "%");
        hfd_html(out, "<td class=\"number\">%d</td></tr>\n", e->days_active);
    }
    end_table(out);
}

/* Parts of a load below a twentieth of its largest are left out: they are noise at the chair. */
struct part {
    double value;
    const char *positive, *negative, *unit;
};

static void put_parts(struct hfd_buf *out, hf_arena *arena, const struct part *parts, size_t count) {
    double most = 0.0;
    for (size_t i = 0; i < count; i++)
        most = fmax(most, fabs(parts[i].value));
    const char *before = "";
    for (size_t i = 0; i < count; i++) {
        if (!(fabs(parts[i].value) > 0.05 * most)) continue;
        hfd_html(out, "%s", before);
        hfd_told_number(out, arena, fabs(parts[i].value), 2, parts[i].unit);
        hfd_html(out, " %s", parts[i].value < 0.0 ? parts[i].negative : parts[i].positive);
        before = ", ";
    }
    if (*before == '\0') hfd_buf_text(out, "–");
}

static void put_load(struct hfd_buf *out, const hf_segment_out *s, hf_arena *arena) {
    const char *inward = s->tooth_count > 0 && s->teeth[0] < 30 ? "palatal" : "lingual";
    const hf_local_out *l = &s->local;
    const struct part forces[] = {{l->mesial_n, "mesial", "distal", "N"},
        {l->buccal_n, "buccal", inward, "N"}, {l->occlusal_n, "extrusive", "intrusive", "N"}};
    const struct part moments[] = {{l->tip_nmm, "crown to mesial", "crown to distal", "N·mm"},
        {l->torque_nmm, "crown to buccal", hf_arena_printf(arena, "crown to %s", inward), "N·mm"},
        {l->rotation_nmm, "mesial side outward", "mesial side inward", "N·mm"}};
    hfd_buf_text(out, "<td>");
    put_parts(out, arena, forces, 3);
    hfd_buf_text(out, "</td><td>");
    put_parts(out, arena, moments, 3);
    hfd_buf_text(out, "</td>");
}

static void put_pace(struct hfd_buf *out, const hf_segment_out *s, hf_arena *arena) {
    if (!isfinite(s->expected.mid)) {
        hfd_buf_text(out, "<td class=\"number\">–</td>");
        return;
    }
    hfd_html(out, "<td class=\"number\">%s&#160;mm a month <span class=\"quiet\">",
        hfd_svg_number(arena, s->expected.mid, 2));
    hfd_html(out, "(%s to %s)</span></td>", hfd_svg_number(arena, s->expected.low, 2),
        hfd_svg_number(arena, s->expected.high, 2));
}

void hfd_told_groups(struct hfd_buf *out, const hf_answer *answer, hf_arena *arena) {
    static const char *const heads[] = {
        "Group", "Movement", "Force", "Moment at its centre of resistance", "#Expected", NULL};
    if (answer->segment_count == 0) return;
    begin_table(out, "What each group of teeth does", heads);
    for (size_t i = 0; i < answer->segment_count; i++) {
        const hf_segment_out *s = &answer->segments[i];
        hfd_html(out, "<tr><th scope=\"row\">%s <span class=\"quiet\">", s->name);
        for (size_t t = 0; t < s->tooth_count; t++)
            hfd_html(out, t > 0 ? " %d" : "%d", s->teeth[t]);
        hfd_html(out, "</span></th><td>%s</td>", s->movement);
        put_load(out, s, arena);
        put_pace(out, s, arena);
        hfd_buf_text(out, "</tr>\n");
    }
    end_table(out);
}

static const hf_screw_in *given(const hf_case *in, const char *name) {
    for (size_t i = 0; i < in->screw_count; i++)
        if (strcmp(in->screws[i].name, name) == 0) return &in->screws[i];
    return NULL;
}

/* Of a limit: what stands on the sheet is compared at a glance. */
static void put_of_limit(struct hfd_buf *out, hf_arena *arena, double ratio) {
    put_cell(out, arena, 100.0 * ratio, 2, "%");
}

void hfd_told_screws(struct hfd_buf *out, const hf_case *in, const hf_answer *answer, hf_arena *arena) {
    static const char *const heads[] = {"Screw", "#Along its axis", "#Across", "#About its axis",
        "#Bone at the rim", "#of its limit", "#Unscrewing, of removal torque", "#Pull, of pull-out",
        "#Lost by the next visit", NULL};
    if (answer->screw_count == 0) return;
    begin_table(out, "What each screw feels", heads);
    for (size_t i = 0; i < answer->screw_count; i++) {
        const hf_screw_out *s = &answer->screws[i];
        const hf_screw_in *screw = given(in, s->name);
        hfd_html(out, "<tr><th scope=\"row\">%s <span class=\"quiet\">%s</span></th><td class=\"number\">",
            s->name, screw && screw->site ? plain(screw->site, arena) : "");
        hfd_told_number(out, arena, fabs(s->load.axial_n), 2, "N");
        hfd_html(out, " %s</td>", s->load.axial_n > 0.0 ? "pull" : "press");
        put_cell(out, arena, s->load.lateral_n, 2, "N");
        hfd_buf_text(out, "<td class=\"number\">");
        hfd_told_number(out, arena, fabs(s->load.axis_moment_nmm), 2, "N·mm");
        hfd_html(out, " %s</td>", s->load.axis_moment_nmm > 0.0 ? "unscrews" : "tightens");
        put_cell(out, arena, s->load.cortex_peak_mpa, 2, "MPa");
        put_of_limit(out, arena, s->load.cortex_of_limit);
        put_of_limit(out, arena, s->load.removal_ratio);
        put_of_limit(out, arena, s->load.pull_out_ratio);
        hfd_buf_text(out, "<td class=\"number\">");
        hfd_told_share(out, arena, s->loss);
        hfd_buf_text(out, "</td></tr>\n");
    }
    end_table(out);
}

static void put_causes(struct hfd_buf *out, const hf_screw_out *s, hf_arena *arena) {
    const char *before = "";
    for (size_t c = 0; c < s->cause_count; c++) {
        const hf_cause *cause = &s->causes[c];
        hfd_html(out, "%s%s ", before, cause->factor);
        if (isfinite(cause->base_loss))
            hfd_html(out, "(%s&#160;", hfd_svg_number(arena, 100.0 * cause->base_loss, 2));
        else
            hfd_html(out, "(× %s", hfd_svg_number(arena, cause->odds_ratio, 2));
        hfd_buf_text(out, isfinite(cause->base_loss) ? "% lost)" : ")");
        before = "; ";
    }
}

/* Risk and causes of one screw, after its name. */
static const char *risk_of(const hf_screw_out *s, hf_arena *arena) {
    struct hfd_buf text;
    hfd_buf_init(&text, arena, 512);
    hfd_buf_text(&text, " ");
    hfd_told_share(&text, arena, s->loss);
    hfd_buf_text(&text, "</dt>\n<dd>");
    put_causes(&text, s, arena);
    hfd_buf_text(&text, "</dd>\n");
    return text.text;
}

/* Screws of which the same is told are told of together. */
static void put_reasons(struct hfd_buf *out, const hf_answer *answer, hf_arena *arena) {
    const char **told = HF_NEW_ARRAY(arena, const char *, answer->screw_count);
    hfd_buf_text(out, "<dl class=\"reasons\">\n");
    for (size_t i = 0; i < answer->screw_count; i++)
        told[i] = risk_of(&answer->screws[i], arena);
    for (size_t i = 0; i < answer->screw_count; i++) {
        if (told[i] == NULL) continue;
        hfd_html(out, "<dt>%s", answer->screws[i].name);
        for (size_t j = i + 1; j < answer->screw_count; j++) {
            if (told[j] == NULL || strcmp(told[j], told[i]) != 0) continue;
            hfd_html(out, ", %s", answer->screws[j].name);
            told[j] = NULL;
        }
        hfd_buf_text(out, told[i]);
    }
    hfd_buf_text(out, "</dl>\n");
}

void hfd_told_risk(struct hfd_buf *out, const hf_answer *answer, hf_arena *arena) {
    hfd_html(out, "<p>Within %d days, by published losses. ", answer->horizon_days);
    for (size_t i = 0; i < answer->plate_risk_count; i++) {
        hfd_html(out, "Any screw of %s: ", answer->plate_risks[i].plate);
        hfd_told_share(out, arena, answer->plate_risks[i].any_lost);
        hfd_buf_text(out, "; all: ");
        hfd_told_share(out, arena, answer->plate_risks[i].all_lost);
        hfd_buf_text(out, ". ");
    }
    hfd_buf_text(out, "</p>\n");
    put_reasons(out, answer, arena);
}

void hfd_told_basis(struct hfd_buf *out, const hf_answer *answer, const char *digest) {
    hfd_html(out, "<p class=\"notice\">%s</p>\n<p class=\"quiet\">Model %s, parameters %s. ", answer->notice,
        HF_CORE_VERSION, HF_PARAMETERS_VERSION);
    hfd_html(out, "What was left out of the record and filled in: %d values. ", (int)answer->assumed_count);
    hfd_html(out, "Input <code>%s</code></p>\n<ul class=\"sources\">\n", digest);
    for (size_t i = 0; i < answer->source_count; i++)
        hfd_html(out, "<li><code>%s</code> %s</li>\n", answer->sources[i].key, answer->sources[i].citation);
    hfd_buf_text(out, "</ul>\n");
}
