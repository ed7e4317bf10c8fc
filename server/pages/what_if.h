/* What a visit would come to if something were different: a form of what may be changed, and both cases side
 * by side. Nothing of it is stored. */
#ifndef HFD_WHAT_IF_H
#define HFD_WHAT_IF_H

#include "../json/change.h"
#include "chart.h"

enum hfd_asked_kind { HFD_ASKED_FORCE, HFD_ASKED_MOVE, HFD_ASKED_WITHOUT, HFD_ASKED_DAYS };

/* One field of the form. */
struct hfd_asked {
    enum hfd_asked_kind kind;
    const char *name;     /* parameter: the place in the document; of DAYS "days" */
    const char *of;       /* element, node or screw */
    const char *recorded; /* what stands there when nothing is changed */
    const char *text;     /* what is asked for */
    const char *fault;    /* why not; NULL: it is taken */
    size_t plate, index;  /* of the element, node or screw */
    int axis;             /* of MOVE: its three fields stand together, x y z */
    double from_mm;       /* of MOVE: the coordinate as recorded */
};

#define HFD_WHAT_IF_OUT "out" /* text of WITHOUT that takes the screw out */

/* What may be changed of an evaluated case; the last one asks for the days. */
struct hfd_asked *hfd_what_if_fields(
    const hf_case *in, const hf_answer *answer, hf_arena *arena, size_t *count);
/* What makes the document of what is asked for; a field that cannot say that gets its fault. */
struct hfd_change *hfd_what_if_changes(
    const hf_case *in, struct hfd_asked *fields, size_t field_count, hf_arena *arena, size_t *count);
/* Lays what is wrong with the changed document at the fields that say it; returns the rest. */
struct hfd_errors hfd_what_if_blame(struct hfd_asked *fields, size_t count, const struct hfd_errors *errors);

/* One of the two cases; answer NULL: refused. */
struct hfd_what_if_side {
    const hf_case *in;
    const hf_answer *answer;
    const char *digest;
};

struct hfd_what_if_page {
    struct hfd_frame frame;
    struct hfd_chart_patient patient;
    const char *visit_id, *visited_on;
    const struct hfd_asked *fields;
    size_t field_count;
    struct hfd_what_if_side recorded, variant;
    struct hfd_errors faults; /* of the variant, that belong to no field */
    size_t seen;              /* index into the words */
    hf_arena *arena;
};

/* From where both are drawn: "frontal" …; NULL-ended. */
extern const char *const hfd_what_if_seen[];

void hfd_what_if_page(struct hfd_buf *out, const struct hfd_what_if_page *page);

/* The parts of the page. */
void hfd_what_if_form(struct hfd_buf *out, const struct hfd_what_if_page *page);
void hfd_what_if_figures(struct hfd_buf *out, const struct hfd_what_if_page *page);
void hfd_what_if_findings(struct hfd_buf *out, const struct hfd_what_if_page *page);

#endif
