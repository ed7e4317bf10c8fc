#include "outline.h"

#include <math.h>

#include "../../core/evidence.h"

/* ---- crowns
 *
 * Own drawing: how wide a crown is from its neck (0) to its edge (1), as shares of its greatest width along
 * the arch and across it. */
enum { FRONT_TOOTH, CANINE, PREMOLAR, MOLAR, TOOTH_CLASSES };
enum { LEVELS = 6 };

static const double level_at[LEVELS] = {0.22, 0.48, 0.72, 0.88, 0.97, 1.0};
static const struct profile {
    double along[LEVELS], across[LEVELS];
    double squareness; /* of the crown from above: exponent of the rounded outline */
    double taper;      /* how much narrower it is on the inner side, as a share */
} profiles[TOOTH_CLASSES] = {
    [FRONT_TOOTH] = {{0.90, 0.97, 1.0, 1.0, 0.95, 0.80}, {1.0, 0.80, 0.50, 0.30, 0.20, 0.12}, 2.3, 0.35},
    [CANINE] = {{0.92, 1.0, 0.98, 0.72, 0.34, 0.10}, {1.0, 0.92, 0.66, 0.40, 0.22, 0.10}, 2.1, 0.35},
    [PREMOLAR] = {{0.92, 1.0, 1.0, 0.82, 0.46, 0.18}, {0.98, 1.0, 0.90, 0.74, 0.60, 0.48}, 2.5, 0.12},
    [MOLAR] = {{0.93, 1.0, 1.0, 0.96, 0.88, 0.74}, {0.97, 1.0, 0.94, 0.82, 0.70, 0.58}, 3.0, 0.06},
};

static const struct profile *profile_of(const hf_geometry_tooth *tooth) {
    int position = tooth->shape->position;
    return &profiles[position <= 2 ? FRONT_TOOTH : position == 3 ? CANINE : position <= 5 ? PREMOLAR : MOLAR];
}

/* ---- bodies that are round about an axis, as their edges are seen
 *
 * At each height an elliptic section with half-axes along `one` and `two`; what is seen of it is its
 * half-width across the axis on the paper. */
struct body {
    const struct hfd_view *view;
    hf_vec3 foot_mm, axis, one, two;
    struct hfd_at across;        /* unit, on the paper */
    double share_one, share_two; /* of the half-axes that lie across */
    struct hfd_at left[HFD_OUTLINE_MAX / 2], right[HFD_OUTLINE_MAX / 2];
    size_t count;
};

/* False: one looks along the axis. */
static bool open_body(
    struct body *body, const struct hfd_view *view, hf_vec3 foot_mm, hf_vec3 axis, hf_vec3 one, hf_vec3 two) {
    struct hfd_at seen = hfd_view_vector(view->look, axis), a = hfd_view_vector(view->look, one),
                  b = hfd_view_vector(view->look, two);
    double length = hypot(seen.x, seen.y);
    *body = (struct body){.view = view, .foot_mm = foot_mm, .axis = axis, .one = one, .two = two};
    if (length < 0.25) return false;
    body->across = (struct hfd_at){-seen.y / length, seen.x / length};
    body->share_one = a.x * body->across.x + a.y * body->across.y;
    body->share_two = b.x * body->across.x + b.y * body->across.y;
    return true;
}

static void put_level(struct body *body, double height_mm, double half_one_mm, double half_two_mm) {
    struct hfd_at at = hfd_view_point(body->view, hf_add_scaled(body->foot_mm, body->axis, height_mm));
    double half = body->view->px_per_mm * hypot(half_one_mm * body->share_one, half_two_mm * body->share_two);
    body->left[body->count] = (struct hfd_at){at.x + half * body->across.x, at.y + half * body->across.y};
    body->right[body->count++] = (struct hfd_at){at.x - half * body->across.x, at.y - half * body->across.y};
}

static void close_body(const struct body *body, struct hfd_outline *out) {
    out->count = 0;
    for (size_t i = 0; i < body->count; i++)
        out->points[out->count++] = body->left[i];
    for (size_t i = body->count; i > 0; i--)
        out->points[out->count++] = body->right[i - 1];
}

/* ---- teeth */

static struct hfd_at on_crown(
    const struct hfd_view *view, const hf_geometry_tooth *tooth, double along, double across) {
    const hf_tooth_place *place = &tooth->tooth->place;
    hf_vec3 at = hf_add_scaled(place->crown_mm, place->mesial, 0.5 * tooth->shape->mesiodistal_mm * along);
    return hfd_view_point(
        view, hf_add_scaled(at, place->buccal, 0.5 * tooth->shape->buccolingual_mm * across));
}

static double rounded(double x, double squareness) {
    return copysign(pow(fabs(x), 2.0 / squareness), x);
}

static void crown_from_above(
    const struct hfd_view *view, const hf_geometry_tooth *tooth, struct hfd_outline *out) {
    const struct profile *profile = profile_of(tooth);
    out->count = HFD_OUTLINE_MAX / 2;
    for (size_t i = 0; i < out->count; i++) {
        double angle = 2.0 * M_PI * (double)i / (double)out->count;
        double across = rounded(sin(angle), profile->squareness);
        double along =
            rounded(cos(angle), profile->squareness) * (1.0 - 0.5 * profile->taper * (1.0 - across));
        out->points[i] = on_crown(view, tooth, along, across);
    }
}

void hfd_outline_crown(const struct hfd_view *view, const hf_geometry_tooth *tooth, struct hfd_outline *out) {
    const struct profile *profile = profile_of(tooth);
    const hf_tooth_place *place = &tooth->tooth->place;
    const hf_morphology *shape = tooth->shape;
    struct body body;
    if (hfd_looks[view->look].view == HF_OCCLUSAL ||
        !open_body(&body, view, place->crest_mm, place->coronal, place->mesial, place->buccal)) {
        crown_from_above(view, tooth, out);
        return;
    }
    double neck = HF_EV(NECK_TO_CREST);
    double along = 0.5 * shape->cervix_mesiodistal_mm, across = 0.5 * shape->cervix_buccolingual_mm;
    put_level(&body, -neck, 0.86 * along, 0.86 * across);
    put_level(&body, 0.0, 0.96 * along, 0.96 * across);
    put_level(&body, neck, along, across);
    for (size_t i = 0; i < LEVELS; i++)
        put_level(&body, neck + level_at[i] * shape->crown_mm,
            0.5 * shape->mesiodistal_mm * profile->along[i],
            0.5 * shape->buccolingual_mm * profile->across[i]);
    close_body(&body, out);
}

void hfd_outline_root(
    const struct hfd_view *view, const hf_geometry_tooth *tooth, size_t i, struct hfd_outline *out) {
    static const double depth[] = {0.0, 0.15, 0.32, 0.5, 0.68, 0.83, 0.94, 1.0};
    const hf_tooth_place *place = &tooth->tooth->place;
    const hf_root *root = &tooth->tooth->roots[i];
    hf_vec3 foot = hf_add_scaled(place->crest_mm, place->mesial, root->offset_mm.x);
    foot = hf_add_scaled(
        hf_add_scaled(foot, place->buccal, root->offset_mm.y), place->coronal, root->offset_mm.z);
    struct body body;
    out->count = 0;
    if (hfd_looks[view->look].view == HF_OCCLUSAL ||
        !open_body(&body, view, foot, place->coronal, place->mesial, place->buccal))
        return;
    for (size_t d = 0; d < sizeof depth / sizeof *depth; d++) {
        double share = pow(1.0 - depth[d], root->exponent);
        put_level(&body, -depth[d] * root->length_mm, 0.5 * root->mesiodistal_mm * share,
            0.5 * root->buccolingual_mm * share);
    }
    close_body(&body, out);
}

size_t hfd_outline_grooves(
    const struct hfd_view *view, const hf_geometry_tooth *tooth, struct hfd_at points[4]) {
    static const struct {
        double line[2][4]; /* along, across, along, across */
        size_t count;
    } grooves[TOOTH_CLASSES] = {
        [FRONT_TOOTH] = {{{-0.72, 0.42, 0.72, 0.42}}, 1},
        [CANINE] = {{{-0.5, 0.3, 0.5, 0.3}}, 1},
        [PREMOLAR] = {{{-0.42, -0.05, 0.42, -0.05}}, 1},
        [MOLAR] = {{{-0.6, -0.05, 0.6, -0.05}, {0.0, 0.55, 0.0, -0.5}}, 2},
    };
    size_t class = (size_t)(profile_of(tooth) - profiles);
    for (size_t i = 0; i < grooves[class].count; i++) {
        const double *line = grooves[class].line[i];
        points[2 * i] = on_crown(view, tooth, line[0], line[1]);
        points[2 * i + 1] = on_crown(view, tooth, line[2], line[3]);
    }
    return 2 * grooves[class].count;
}

/* ---- metal */

void hfd_outline_bar(
    const struct hfd_view *view, const hf_geometry_bar *bar, double least_px, struct hfd_outline *out) {
    hf_vec3 along = hf_unit(hf_sub(bar->to_mm, bar->from_mm));
    hf_vec3 normal = hf_unit(hf_perpendicular(bar->normal, along)), side = hf_cross(normal, along);
    struct hfd_at from = hfd_view_point(view, bar->from_mm), to = hfd_view_point(view, bar->to_mm);
    double x = to.x - from.x, y = to.y - from.y, length = hypot(x, y);
    out->count = 0;
    if (length < 0.5) return;
    struct hfd_at across = {-y / length, x / length}, w = hfd_view_vector(view->look, side),
                  t = hfd_view_vector(view->look, normal);
    double seen = bar->round ? bar->width_mm
                             : bar->width_mm * fabs(w.x * across.x + w.y * across.y) +
                                   bar->thickness_mm * fabs(t.x * across.x + t.y * across.y);
    double half = 0.5 * fmax(seen * view->px_per_mm, least_px);
    struct hfd_at off = {half * across.x, half * across.y};
    out->points[out->count++] = (struct hfd_at){from.x + off.x, from.y + off.y};
    out->points[out->count++] = (struct hfd_at){to.x + off.x, to.y + off.y};
    out->points[out->count++] = (struct hfd_at){to.x - off.x, to.y - off.y};
    out->points[out->count++] = (struct hfd_at){from.x - off.x, from.y - off.y};
}

void hfd_outline_screw(const struct hfd_view *view, const hf_geometry_screw *screw, struct hfd_outline *out) {
    hf_vec3 one = hf_unit(
        hf_perpendicular(fabs(screw->axis.x) < 0.6 ? hf_vec3_of(1, 0, 0) : hf_vec3_of(0, 1, 0), screw->axis));
    hf_vec3 two = hf_cross(screw->axis, one);
    double half = 0.5 * screw->diameter_mm, neck = hf_norm(hf_sub(screw->head_mm, screw->entry_mm));
    struct body body;
    out->count = 0;
    if (!open_body(&body, view, screw->entry_mm, screw->axis, one, two)) return;
    put_level(&body, neck, 1.25 * half, 1.25 * half);
    put_level(&body, neck - 0.4, 1.25 * half, 1.25 * half);
    put_level(&body, neck - 0.4, half, half);
    put_level(&body, 0.0, half, half);
    put_level(&body, -0.55 * screw->length_mm, 0.92 * half, 0.92 * half);
    put_level(&body, -0.85 * screw->length_mm, 0.55 * half, 0.55 * half);
    put_level(&body, -screw->length_mm, 0.08, 0.08);
    close_body(&body, out);
}
