/* Looking at the jaws: which way, what is in sight, and where it comes to lie on the paper. */
#ifndef HFD_VIEW_H
#define HFD_VIEW_H

#include "../../core/answer.h"
#include "../../core/geometry.h"
#include "svg.h"

enum hfd_look {
    HFD_LOOK_UPPER,
    HFD_LOOK_LOWER,
    HFD_LOOK_FRONT,
    HFD_LOOK_RIGHT,
    HFD_LOOK_LEFT,
    HFD_LOOK_COUNT
};

/* How a look is told. `right`, `up`: the patient's axes that run to the right and up on the paper. */
struct hfd_look_row {
    const char *title;
    hf_view view;
    hf_vec3 right, up;
    const char *edges[4]; /* words at the left, right, upper and lower edge; NULL: none */
};

extern const struct hfd_look_row hfd_looks[HFD_LOOK_COUNT];
extern const char *const hfd_view_names[HF_VIEW_COUNT];

struct hfd_view {
    enum hfd_look look;
    double px_per_mm;
    struct hfd_at shift; /* px: where the patient's origin lies on the paper */
};

/* A vector as it lies on the paper, y down, unscaled: millimetres stay millimetres, newtons newtons. */
struct hfd_at hfd_view_vector(enum hfd_look look, hf_vec3 v);
/* The part that points at the viewer; a moment with a positive one turns counter-clockwise as seen. */
double hfd_view_towards(enum hfd_look look, hf_vec3 v);
struct hfd_at hfd_view_point(const struct hfd_view *view, hf_vec3 at_mm);

/* From above or below only one jaw is seen, from a side only what is not behind the midline. */
bool hfd_view_sees_jaw(enum hfd_look look, hf_jaw jaw);
bool hfd_view_sees_side(enum hfd_look look, double x_mm, double beyond_mm);

/* An upright rectangle on the paper; empty until something was put into it. */
struct hfd_box {
    double left, top, right, bottom;
};

struct hfd_box hfd_box_empty(void);
void hfd_box_add(struct hfd_box *box, struct hfd_at at, double margin);

#endif
