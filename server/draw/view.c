#include "view.h"

#include <math.h>

/* Upper arch: as one sees it on looking up, front teeth at the top; lower arch: looking down, front teeth at
 * the bottom. Both keep the patient's right at the viewer's left, as the view from the front does. */
const struct hfd_look_row hfd_looks[HFD_LOOK_COUNT] = {
    [HFD_LOOK_UPPER] = {"Upper arch from below", HF_OCCLUSAL, {1, 0, 0}, {0, -1, 0},
        {"R", "L", "front", "back"}},
    [HFD_LOOK_LOWER] = {"Lower arch from above", HF_OCCLUSAL, {1, 0, 0}, {0, 1, 0},
        {"R", "L", "back", "front"}},
    [HFD_LOOK_FRONT] = {"From the front", HF_FRONTAL, {1, 0, 0}, {0, 0, 1}, {"R", "L", NULL, NULL}},
    [HFD_LOOK_RIGHT] = {"From the patient's right", HF_SAGITTAL, {0, -1, 0}, {0, 0, 1},
        {"back", "front", NULL, NULL}},
    [HFD_LOOK_LEFT] = {"From the patient's left", HF_SAGITTAL, {0, 1, 0}, {0, 0, 1},
        {"front", "back", NULL, NULL}},
};

const char *const hfd_view_names[HF_VIEW_COUNT] = {
    [HF_FRONTAL] = "frontal", [HF_SAGITTAL] = "sagittal", [HF_OCCLUSAL] = "occlusal"};

struct hfd_at hfd_view_vector(enum hfd_look look, hf_vec3 v) {
    return (struct hfd_at){hf_dot(hfd_looks[look].right, v), -hf_dot(hfd_looks[look].up, v)};
}

double hfd_view_towards(enum hfd_look look, hf_vec3 v) {
    return hf_dot(hf_cross(hfd_looks[look].right, hfd_looks[look].up), v);
}

struct hfd_at hfd_view_point(const struct hfd_view *view, hf_vec3 at_mm) {
    struct hfd_at mm = hfd_view_vector(view->look, at_mm);
    return (struct hfd_at){view->shift.x + view->px_per_mm * mm.x, view->shift.y + view->px_per_mm * mm.y};
}

bool hfd_view_sees_jaw(enum hfd_look look, hf_jaw jaw) {
    if (hfd_looks[look].view != HF_OCCLUSAL) return true;
    return (look == HFD_LOOK_UPPER) == (jaw == HF_MAXILLA);
}

bool hfd_view_sees_side(enum hfd_look look, double x_mm, double beyond_mm) {
    if (hfd_looks[look].view != HF_SAGITTAL) return true;
    return look == HFD_LOOK_RIGHT ? x_mm <= beyond_mm : x_mm >= -beyond_mm;
}

struct hfd_box hfd_box_empty(void) {
    return (struct hfd_box){INFINITY, INFINITY, -INFINITY, -INFINITY};
}

void hfd_box_add(struct hfd_box *box, struct hfd_at at, double margin) {
    box->left = fmin(box->left, at.x - margin);
    box->top = fmin(box->top, at.y - margin);
    box->right = fmax(box->right, at.x + margin);
    box->bottom = fmax(box->bottom, at.y + margin);
}
