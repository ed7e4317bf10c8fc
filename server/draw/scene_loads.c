#include <math.h>
#include <string.h>

#include "scene.h"

struct drawing {
    const struct hfd_scene *scene;
    const struct hfd_view *view;
    struct hfd_svg *svg;
    struct hfd_labels *labels;
    double width, height;
};

static const struct {
    const char *kind, *force, *moment, *label;
    double radius_px; /* of the arc */
} styles[HFD_LOAD_KINDS] = {
    [HFD_LOAD_OF_ELEMENT] = {"element", "force of-element", "moment of-element", "label of-element", 13.0},
    [HFD_LOAD_ON_TEETH] = {"segment", "force of-teeth", "moment of-teeth", "label of-teeth", 19.0},
    [HFD_LOAD_ON_SCREW] = {"screw", "force of-screw", "moment of-screw", "label of-screw", 15.0},
};

static const double name_px = 150.0, text_px = 11.0;

static const char *real(const struct drawing *d, double value) {
    return hf_arena_printf(d->scene->arena, "%.12g", value);
}

static const char *quantity(const struct drawing *d, double value, const char *unit) {
    return hf_arena_printf(
        d->scene->arena, "%s\xC2\xA0%s", hfd_svg_number(d->scene->arena, fabs(value), 3), unit);
}

/* Opens the group of an arrow or an arc, with what it tells. */
static void open_load(const struct drawing *d, const char *classes, const struct hfd_load *load,
    const char *member, double value, const char *title) {
    const struct hfd_datum data[] = {{"kind", styles[load->of].kind}, {"name", load->name},
        {"end", load->end}, {"view", hfd_view_names[hfd_looks[d->view->look].view]},
        {member, real(d, value)}};
    hfd_svg_group_told(d->svg, classes, data, sizeof data / sizeof *data, title);
}

static struct hfd_at draw_force(
    const struct drawing *d, const struct hfd_load *load, const struct hfd_seen *seen) {
    double px_per_n = d->scene->px_per_mm * d->scene->mm_per_n;
    struct hfd_at from = hfd_view_point(d->view, load->at_mm);
    struct hfd_at to = {from.x + px_per_n * seen->force.x, from.y + px_per_n * seen->force.y};
    open_load(d, styles[load->of].force, load, "force-n", hf_norm(load->force_n),
        hf_arena_printf(d->scene->arena, "%s: %s", load->name, quantity(d, hf_norm(load->force_n), "N")));
    hfd_svg_arrow(d->svg, NULL, from, to);
    hfd_svg_group_end(d->svg);
    hfd_labels_avoid(d->labels, from, to);
    return to;
}

/* Open towards where the force goes. */
static void draw_moment(const struct drawing *d, const struct hfd_load *load, const struct hfd_seen *seen) {
    const double half_gap = 55.0 * M_PI / 180.0;
    double radius = styles[load->of].radius_px, sense = seen->moment_nmm > 0.0 ? 1.0 : -1.0;
    double middle = seen->has_force ? atan2(-seen->force.y, seen->force.x) : 0.5 * M_PI;
    struct hfd_at centre = hfd_view_point(d->view, load->at_mm);
    open_load(d, styles[load->of].moment, load, "moment-nmm", seen->moment_nmm,
        hf_arena_printf(d->scene->arena, "%s: %s", load->name, quantity(d, seen->moment_nmm, "N\xC2\xB7mm")));
    hfd_svg_turn(
        d->svg, NULL, centre, radius, middle + sense * half_gap, middle + sense * (2.0 * M_PI - half_gap));
    hfd_svg_group_end(d->svg);
    for (int i = 0; i < 8; i++) {
        struct hfd_at at = {
            centre.x + radius * cos(0.25 * M_PI * i), centre.y + radius * sin(0.25 * M_PI * i)};
        hfd_labels_avoid(d->labels, at, at);
    }
}

static void draw_resistance(const struct drawing *d, const struct hfd_load *load) {
    const double radius = 5.0;
    struct hfd_at at = hfd_view_point(d->view, load->at_mm);
    hfd_svg_group(d->svg, "resistance", (struct hfd_at){0, 0},
        hf_arena_printf(d->scene->arena, "%s: centre of resistance", load->name));
    hfd_svg_circle(d->svg, NULL, at, radius);
    hfd_svg_line(d->svg, NULL, (struct hfd_at){at.x - radius, at.y}, (struct hfd_at){at.x + radius, at.y});
    hfd_svg_line(d->svg, NULL, (struct hfd_at){at.x, at.y - radius}, (struct hfd_at){at.x, at.y + radius});
    hfd_svg_group_end(d->svg);
}

/* How much of the way from `at` to `to` lies inside the panel. */
static double share_inside(const struct drawing *d, struct hfd_at at, struct hfd_at to) {
    const double margin = 8.0;
    double share = 1.0, x = to.x - at.x, y = to.y - at.y;
    if (x > 0.0) share = fmin(share, (d->width - margin - at.x) / x);
    if (x < 0.0) share = fmin(share, (margin - at.x) / x);
    if (y > 0.0) share = fmin(share, (d->height - margin - at.y) / y);
    if (y < 0.0) share = fmin(share, (margin - at.y) / y);
    return fmax(share, 0.0);
}

/* Far away there is as good as no turning. */
static void draw_rotation(const struct drawing *d, const struct hfd_load *load) {
    const double far_mm = 150.0, half = 5.0;
    hf_vec3 centre = hfd_scene_rotation(d->scene, d->view->look, load->index);
    double distance = hf_norm(hf_sub(centre, load->at_mm));
    if (!(distance < far_mm)) return;
    struct hfd_at from = hfd_view_point(d->view, load->at_mm), at = hfd_view_point(d->view, centre);
    double share = share_inside(d, from, at);
    struct hfd_at seen = {from.x + share * (at.x - from.x), from.y + share * (at.y - from.y)};
    const struct hfd_datum data[] = {{"kind", "rotation"}, {"name", load->name},
        {"view", hfd_view_names[hfd_looks[d->view->look].view]}, {"distance-mm", real(d, distance)}};
    hfd_svg_group_told(d->svg, "rotation", data, sizeof data / sizeof *data,
        hf_arena_printf(d->scene->arena, "%s: centre of rotation, %s from the centre of resistance",
            load->name, quantity(d, distance, "mm")));
    if (share < 1.0) {
        hfd_svg_arrow(d->svg, NULL, from, seen);
        hfd_labels_add(d->labels,
            (struct hfd_label){.at = seen,
                .classes = "label of-teeth",
                .title = load->name,
                .lines = {hf_arena_printf(d->scene->arena, "\xE2\x97\x87 %s", quantity(d, distance, "mm"))}});
    } else {
        const struct hfd_at diamond[] = {
            {at.x, at.y - half}, {at.x + half, at.y}, {at.x, at.y + half}, {at.x - half, at.y}};
        hfd_svg_line(d->svg, "shaft", from, at);
        hfd_svg_polygon(d->svg, "mark", diamond, 4);
        hfd_labels_avoid(d->labels, at, at);
    }
    hfd_svg_group_end(d->svg);
}

/* Elements and screws by name, groups of teeth by what they get: they carry their numbers. */
static void tell(
    const struct drawing *d, const struct hfd_load *load, const struct hfd_seen *seen, struct hfd_at at) {
    bool told = hfd_scene_tells(d->scene, d->view->look, load), named = load->of != HFD_LOAD_ON_TEETH && told;
    bool of_element = load->of == HFD_LOAD_OF_ELEMENT;
    double force_n = of_element ? d->scene->answer->elements[load->index].force_n : seen->force_n;
    struct hfd_label label = {.at = at, .classes = styles[load->of].label, .title = load->name};
    size_t count = 0;
    if (named) label.lines[count++] = hfd_text_fitted(d->scene->arena, load->name, text_px, name_px);
    if (told && seen->has_force) label.lines[count++] = quantity(d, force_n, "N");
    if (seen->has_moment) label.lines[count++] = quantity(d, seen->moment_nmm, "N\xC2\xB7mm");
    /* A load that is told nowhere else has no line that its name could stand at. */
    bool bare =
        count == 1 && named && of_element && d->scene->in->elements[load->index].kind == HF_ELEMENT_APPLIED;
    if (count > 0 && !bare) hfd_labels_add(d->labels, label);
}

static void draw_load(const struct drawing *d, const struct hfd_load *load) {
    struct hfd_seen seen = hfd_scene_seen(d->scene, d->view->look, load);
    struct hfd_at at = hfd_view_point(d->view, load->at_mm);
    if (load->of == HFD_LOAD_ON_TEETH) {
        if (!hfd_scene_is_loaded(d->scene, load->index)) return;
        if (seen.has_force || seen.has_moment) draw_rotation(d, load);
        draw_resistance(d, load);
    }
    if (seen.has_moment) draw_moment(d, load, &seen);
    if (seen.has_force) at = draw_force(d, load, &seen);
    tell(d, load, &seen, at);
}

void hfd_scene_draw_loads(const struct hfd_scene *scene, const struct hfd_view *view, struct hfd_svg *svg,
    struct hfd_labels *labels, double width, double height) {
    const struct drawing d = {scene, view, svg, labels, width, height};
    for (size_t i = 0; i < scene->load_count; i++)
        if (hfd_scene_sees_load(scene, view->look, &scene->loads[i])) draw_load(&d, &scene->loads[i]);
}
