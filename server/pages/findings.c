/* Findings, and what they ask one to look at while the patient is in the chair. */
#include <math.h>
#include <string.h>

#include "../draw/svg.h"
#include "told.h"

static const struct {
    const char *code, *unit, *look;
} checks[] = {
    {"screw-mobile", "",
        "Feel the screw between two instrument handles; if it still moves, take the load off it."},
    {"screw-inflamed", "", "Clean around the screw, show the patient how, treat what is swollen."},
    {"percussion-score", "", "Measure the screw's score again; compare with the last one."},
    {"resonance-score", "", "Measure the screw's score again; compare with the last one."},
    {"resonance-fall", "", "Measure the screw's score again; compare with the last one."},
    {"unscrewing-moment", "N·mm",
        "Look whether the cap or the screw's head has turned; hold it while the plate is worked on."},
    {"screw-force", "N", "Measure the force on this screw's plate; lower it or share it with another screw."},
    {"cortex-stress", "MPa",
        "Feel for tenderness at the screw; lower the force or shorten the arm before adding any."},
    {"bone-strain", "microstrain",
        "Feel for tenderness at the screw; look at the bone at the next radiograph."},
    {"core-torsion", "", "Turn nothing on this screw with force; check the fit of plate and cap."},
    {"pull-out", "", "Look whether the head stands higher than at the last visit."},
    {"insertion-torque", "N·cm",
        "Feel the screw for mobility; its torque at insertion was not in the window."},
    {"root-distance", "mm",
        "Ask about pain on biting, test the tooth beside the screw; a radiograph if in doubt."},
    {"single-screw", "", "Look whether the plate has turned about its only screw."},
    {"screw-spacing", "mm", "Look whether the plate rocks between its screws."},
    {"seat-offset", "mm", "Check that the plate sits on the screw's head without tension."},
    {"screw-unloaded", "", "Check that the screw is really joined to the plate."},
    {"plate-yield", "", "Compare the plate's arms with the last photograph: are they bent?"},
    {"tissue-gap", "mm", "Look for pressure marks under the plate; a probe must pass."},
    {"element-slack", "", "Check that the element is stretched; exchange or shorten it."},
    {"wire-yield", "", "Check that the cantilever still has its shape; replace it when bent."},
    {"cantilever-reach", "mm", "Check where the cantilever's end stands and what it touches."},
    {"tooth-force", "N", "Measure the force; feel the teeth for mobility and ask about pain."},
    {"ligament-pressure", "kPa",
        "Ask about pain; test the vitality of these teeth, watch the roots on radiographs."},
    {"segment-not-rigid", "", "Look at each tooth of the group: have they moved apart?"},
    {"side-effect", "", "Measure the side effect named in the finding: bite, midline, cant."},
    {"site-unknown", "", "Record where the screw stands: its risk cannot be told without it."},
    {"outside-studied-range", "", "Check the entry in the record; the model does not answer so far out."},
};

enum { CHECK_COUNT = sizeof checks / sizeof *checks };

static const char *unit_of(const hf_finding *finding) {
    for (size_t i = 0; i < CHECK_COUNT; i++)
        if (strcmp(checks[i].code, finding->code) == 0) return checks[i].unit;
    return "";
}

void hfd_told_findings(struct hfd_buf *out, const hf_finding *findings, size_t count, hf_arena *arena) {
    if (count == 0) {
        hfd_buf_text(out, "<p>Nothing stands out.</p>\n");
        return;
    }
    hfd_buf_text(out, "<ul class=\"findings\">\n");
    for (int severity = HF_STOP; severity >= HF_NOTE; severity--)
        for (size_t i = 0; i < count; i++) {
            const hf_finding *f = &findings[i];
            if ((int)f->severity != severity) continue;
            hfd_buf_text(out, "<li>");
            hfd_told_severity(out, f->severity);
            if (f->name) hfd_html(out, " <b>%s.</b>", f->name);
            hfd_html(out, " %s", f->message);
            if (isfinite(f->value) && isfinite(f->limit))
                hfd_html(out, " <span class=\"quiet\">%s, limit %s %s</span>",
                    hfd_svg_number(arena, f->value, 3), hfd_svg_number(arena, f->limit, 3), unit_of(f));
            hfd_buf_text(out, "</li>\n");
        }
    hfd_buf_text(out, "</ul>\n");
}

/* The subjects of all findings of a kind. */
static void put_subjects(struct hfd_buf *out, const hf_answer *answer, const char *code) {
    const char *before = " <span class=\"quiet\">(", *last = NULL;
    for (size_t i = 0; i < answer->finding_count; i++) {
        const hf_finding *f = &answer->findings[i];
        if (strcmp(f->code, code) != 0 || f->name == NULL || (last && strcmp(last, f->name) == 0)) continue;
        hfd_buf_text(out, before);
        hfd_html(out, "%s", f->name);
        before = ", ";
        last = f->name;
    }
    if (last) hfd_buf_text(out, ")</span>");
}

void hfd_told_checks(struct hfd_buf *out, const hf_answer *answer) {
    hfd_buf_text(out, "<ul class=\"checks\">\n");
    const char *last = NULL;
    for (size_t c = 0; c < CHECK_COUNT; c++) {
        bool found = false;
        for (size_t i = 0; i < answer->finding_count && !found; i++)
            found = strcmp(answer->findings[i].code, checks[c].code) == 0;
        if (!found || (last && strcmp(last, checks[c].look) == 0)) continue;
        last = checks[c].look;
        hfd_html(out, "<li>%s", last);
        put_subjects(out, answer, checks[c].code);
        hfd_buf_text(out, "</li>\n");
    }
    hfd_buf_text(out, "<li>Mobility and inflammation of every screw, 0 to 3.</li>\n"
                      "<li>Force of every element before it is changed, with a gauge.</li>\n</ul>\n");
}
