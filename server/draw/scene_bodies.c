#include <math.h>
#include <stdint.h>

#include "outline.h"
#include "scene.h"

struct drawing {
    const struct hfd_scene *scene;
    const struct hfd_view *view;
    struct hfd_svg *svg;
    struct hfd_labels *labels;
};

/* ---- teeth */

static void draw_tooth(const struct drawing *d, const hf_geometry_tooth *tooth, bool loaded) {
    struct hfd_outline outline;
    struct hfd_at grooves[4];
    const char *number = hf_arena_printf(d->scene->arena, "%d", tooth->tooth->place.tooth);
    const struct hfd_datum data[] = {{"tooth", number}};
    hfd_svg_group_told(d->svg, loaded ? "tooth moved" : "tooth", data, 1,
        hf_arena_printf(d->scene->arena, "tooth %s", number));
    for (size_t r = 0; r < tooth->tooth->root_count; r++) {
        hfd_outline_root(d->view, tooth, r, &outline);
        hfd_svg_smooth(d->svg, NULL, outline.points, outline.count);
    }
    hfd_outline_crown(d->view, tooth, &outline);
    hfd_svg_smooth(d->svg, NULL, outline.points, outline.count);
    if (hfd_looks[d->view->look].view == HF_OCCLUSAL) {
        size_t count = hfd_outline_grooves(d->view, tooth, grooves);
        for (size_t i = 0; i + 1 < count; i += 2)
            hfd_svg_line(d->svg, "groove", grooves[i], grooves[i + 1]);
    }
    hfd_svg_group_end(d->svg);
    hfd_labels_add(d->labels, (struct hfd_label){.at = hfd_view_point(d->view, tooth->tooth->place.crown_mm),
                                  .classes = loaded ? "label strong" : "label quiet",
                                  .lines = {number},
                                  .on_it = true,
                                  .or_nowhere = !loaded});
}

/* Farther ones first; those that are loaded over all others, their numbers before all others. */
static void draw_teeth(const struct drawing *d, bool loaded) {
    const hf_geometry *geometry = &d->scene->geometry;
    bool done[HF_TOOTH_SLOTS] = {false};
    for (size_t n = 0; n < geometry->tooth_count; n++) {
        size_t farthest = SIZE_MAX;
        double least = INFINITY;
        for (size_t t = 0; t < geometry->tooth_count; t++) {
            double towards = hfd_view_towards(d->view->look, geometry->teeth[t].tooth->place.crown_mm);
            if (done[t] || towards >= least) continue;
            least = towards;
            farthest = t;
        }
        done[farthest] = true;
        const hf_geometry_tooth *tooth = &geometry->teeth[farthest];
        if (hfd_scene_is_loaded(d->scene, tooth->segment) == loaded &&
            hfd_scene_sees_tooth(d->view->look, tooth))
            draw_tooth(d, tooth, loaded);
    }
}

/* ---- metal */

static void draw_bars(
    const struct drawing *d, const char *classes, const hf_geometry_bar *bars, size_t count) {
    struct hfd_outline outline;
    for (size_t b = 0; b < count; b++) {
        hfd_outline_bar(d->view, &bars[b], 1.4, &outline);
        if (outline.count == 0) continue;
        hfd_svg_polygon(d->svg, classes, outline.points, outline.count);
        hfd_labels_avoid(
            d->labels, hfd_view_point(d->view, bars[b].from_mm), hfd_view_point(d->view, bars[b].to_mm));
    }
}

static void draw_fitting(const struct drawing *d, const hf_geometry_fitting *fitting) {
    static const double tube_mm = 3.0;
    struct hfd_at at = hfd_view_point(d->view, fitting->at_mm);
    if (fitting->kind == HF_FITTING_TUBE && hf_vec3_is_given(fitting->axis)) {
        hf_vec3 axis = hf_scale(hf_unit(fitting->axis), 0.5 * tube_mm);
        hf_geometry_bar tube = {
            hf_sub(fitting->at_mm, axis), hf_add(fitting->at_mm, axis), axis, true, 1.6, 1.6};
        draw_bars(d, "fitting", &tube, 1);
    }
    hfd_svg_circle(d->svg, fitting->kind == HF_FITTING_HOOK ? "fitting full" : "fitting", at, 3.0);
}

static void draw_plate(const struct drawing *d, const hf_geometry_plate *plate) {
    const struct hfd_datum data[] = {{"plate", plate->name}};
    hfd_svg_group_told(d->svg, "plate", data, 1, plate->name);
    draw_bars(d, "metal", plate->bars, plate->bar_count);
    for (size_t s = 0; s < plate->seat_count; s++) {
        const hf_geometry_seat *seat = &plate->seats[s];
        const hf_geometry_screw *screw = &d->scene->geometry.screws[seat->screw];
        struct hfd_at head = hfd_view_point(d->view, screw->head_mm),
                      node = hfd_view_point(d->view, seat->node_mm);
        if (hypot(head.x - node.x, head.y - node.y) > 2.0) hfd_svg_line(d->svg, "seat", node, head);
        hfd_svg_circle(d->svg, "metal", node, 0.72 * screw->diameter_mm * d->view->px_per_mm);
    }
    for (size_t f = 0; f < plate->fitting_count; f++)
        draw_fitting(d, &plate->fittings[f]);
    hfd_svg_group_end(d->svg);
}

/* Along its axis a screw is a circle with a cross, from the side a body that tapers to its tip. */
static void draw_screw(const struct drawing *d, const hf_geometry_screw *screw) {
    const struct hfd_datum data[] = {{"screw", screw->name}};
    struct hfd_at head = hfd_view_point(d->view, screw->head_mm);
    double radius = 0.5 * screw->diameter_mm * d->view->px_per_mm, arm = 0.7 * radius;
    struct hfd_outline outline;
    hfd_outline_screw(d->view, screw, &outline);
    hfd_svg_group_told(d->svg, "screw", data, 1, screw->name);
    hfd_svg_polygon(d->svg, NULL, outline.points, outline.count);
    hfd_labels_avoid(d->labels, hfd_view_point(d->view, screw->entry_mm), head);
    if (fabs(hfd_view_towards(d->view->look, screw->axis)) > 0.6) {
        hfd_svg_circle(d->svg, NULL, head, radius);
        hfd_svg_line(
            d->svg, NULL, (struct hfd_at){head.x - arm, head.y}, (struct hfd_at){head.x + arm, head.y});
        hfd_svg_line(
            d->svg, NULL, (struct hfd_at){head.x, head.y - arm}, (struct hfd_at){head.x, head.y + arm});
    }
    hfd_svg_group_end(d->svg);
}

/* ---- elements */

static const char *const element_classes[HF_ELEMENT_COUNT] = {
    [HF_ELEMENT_CHAIN] = "element chain",
    [HF_ELEMENT_CLOSED_COIL] = "element",
    [HF_ELEMENT_OPEN_COIL] = "element",
    [HF_ELEMENT_ELASTIC] = "element elastic",
    [HF_ELEMENT_EXTRAORAL_ELASTIC] = "element elastic",
    [HF_ELEMENT_CANTILEVER] = "element",
    [HF_ELEMENT_TIE] = "element tie",
    [HF_ELEMENT_APPLIED] = "element",
    [HF_ELEMENT_RIGID_BAR] = "element stiff",
};

/* A coil: straight at its ends, turns between. */
static void draw_coil(struct hfd_svg *svg, const char *classes, struct hfd_at from, struct hfd_at to) {
    enum { TURNS_MOST = 40 };
    struct hfd_at points[2 * TURNS_MOST + 4];
    double x = to.x - from.x, y = to.y - from.y, length = hypot(x, y);
    size_t turns = (size_t)fmin(fmax((length - 12.0) / 4.0, 1.0), TURNS_MOST), count = 0;
    const double half_px = 3.0, lead = fmin(6.0, 0.25 * length) / fmax(length, 1e-9);
    points[count++] = from;
    points[count++] = (struct hfd_at){from.x + lead * x, from.y + lead * y};
    for (size_t i = 0; i < 2 * turns; i++) {
        double share = lead + (1.0 - 2.0 * lead) * ((double)i + 0.5) / (2.0 * (double)turns);
        double off = (i % 2 ? -half_px : half_px) / fmax(length, 1e-9);
        points[count++] = (struct hfd_at){from.x + share * x - off * y, from.y + share * y + off * x};
    }
    points[count++] = (struct hfd_at){to.x - lead * x, to.y - lead * y};
    points[count++] = to;
    hfd_svg_polyline(svg, classes, points, count);
}

static void draw_element(const struct drawing *d, size_t e) {
    const hf_element_out *element = &d->scene->answer->elements[e];
    if (!hf_vec3_is_given(element->from_mm) || !hf_vec3_is_given(element->to_mm)) return;
    struct hfd_at from = hfd_view_point(d->view, element->from_mm),
                  to = hfd_view_point(d->view, element->to_mm);
    bool coiled = element->kind == HF_ELEMENT_CLOSED_COIL || element->kind == HF_ELEMENT_OPEN_COIL;
    hfd_labels_avoid(d->labels, from, to);
    hfd_svg_group(d->svg, element_classes[element->kind], (struct hfd_at){0, 0}, element->name);
    if (coiled)
        draw_coil(d->svg, NULL, from, to);
    else
        hfd_svg_line(d->svg, NULL, from, to);
    hfd_svg_group_end(d->svg);
}

void hfd_scene_draw_bodies(const struct hfd_scene *scene, const struct hfd_view *view, struct hfd_svg *svg,
    struct hfd_labels *labels) {
    const hf_geometry *geometry = &scene->geometry;
    const struct drawing d = {scene, view, svg, labels};
    draw_teeth(&d, false);
    draw_teeth(&d, true);
    for (size_t w = 0; w < geometry->wire_count; w++)
        if (hfd_scene_sees_wire(view->look, &geometry->wires[w]))
            draw_bars(&d, "wire", &geometry->wires[w].span, 1);
    for (size_t p = 0; p < geometry->plate_count; p++)
        if (hfd_scene_sees_plate(scene, view->look, p)) draw_plate(&d, &geometry->plates[p]);
    for (size_t s = 0; s < geometry->screw_count; s++)
        if (hfd_scene_sees_screw(scene, view->look, s)) draw_screw(&d, &geometry->screws[s]);
    for (size_t e = 0; e < scene->answer->element_count; e++)
        if (hfd_scene_sees_element(scene, view->look, e)) draw_element(&d, e);
}
