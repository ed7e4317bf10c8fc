#include "free_body.h"

#include <math.h>
#include <string.h>

#include "../base/date.h"
#include "outline.h"
#include "scene.h"

enum { max_columns = HFD_LOOK_COUNT };
#define margin_px 12.0
#define title_px 20.0
static const double gap_px = 14.0;
static const double narrowest_px = 450.0; /* the longest entry of the legend */

/* Where the drawing is looked at: by itself, beside other things on a screen, on a printed sheet. */
enum place { ALONE, INSIDE, FLAT, ROW };

struct panel {
    struct hfd_view view;
    struct hfd_box content; /* px, about the patient's origin */
    struct hfd_at at;       /* on the paper */
    double height;
};

struct sheet {
    struct hfd_scene scene;
    struct panel panels[HFD_LOOK_COUNT];
    size_t count;
    double panel_width, width, height; /* of the panels together; the rest stands below */
};

/* ---- how much room a view takes */

static void reach_outline(struct hfd_box *box, const struct hfd_outline *outline) {
    for (size_t i = 0; i < outline->count; i++)
        hfd_box_add(box, outline->points[i], 0.0);
}

static void reach_teeth(const struct hfd_scene *scene, const struct hfd_view *view, struct hfd_box *box) {
    struct hfd_outline outline;
    for (size_t t = 0; t < scene->geometry.tooth_count; t++) {
        const hf_geometry_tooth *tooth = &scene->geometry.teeth[t];
        if (!hfd_scene_sees_tooth(view->look, tooth)) continue;
        hfd_outline_crown(view, tooth, &outline);
        reach_outline(box, &outline);
        for (size_t r = 0; r < tooth->tooth->root_count; r++) {
            hfd_outline_root(view, tooth, r, &outline);
            reach_outline(box, &outline);
        }
    }
}

static void reach_metal(const struct hfd_scene *scene, const struct hfd_view *view, struct hfd_box *box) {
    const hf_geometry *geometry = &scene->geometry;
    for (size_t p = 0; p < geometry->plate_count; p++) {
        const hf_geometry_plate *plate = &geometry->plates[p];
        for (size_t b = 0; hfd_scene_sees_plate(scene, view->look, p) && b < plate->bar_count; b++) {
            hfd_box_add(box, hfd_view_point(view, plate->bars[b].from_mm), 8.0);
            hfd_box_add(box, hfd_view_point(view, plate->bars[b].to_mm), 8.0);
        }
    }
    for (size_t s = 0; s < geometry->screw_count; s++) {
        const hf_geometry_screw *screw = &geometry->screws[s];
        if (!hfd_scene_sees_screw(scene, view->look, s)) continue;
        hfd_box_add(box, hfd_view_point(view, screw->head_mm), 12.0);
        hfd_box_add(
            box, hfd_view_point(view, hf_add_scaled(screw->entry_mm, screw->axis, -screw->length_mm)), 6.0);
    }
}

static struct hfd_box reach(const struct hfd_scene *scene, const struct hfd_view *view) {
    struct hfd_box box = hfd_box_empty();
    reach_teeth(scene, view, &box);
    reach_metal(scene, view, &box);
    for (size_t i = 0; i < scene->load_count; i++) {
        const struct hfd_load *load = &scene->loads[i];
        if (!hfd_scene_sees_load(scene, view->look, load)) continue;
        struct hfd_at at = hfd_view_point(view, load->at_mm);
        struct hfd_seen seen = hfd_scene_seen(scene, view->look, load);
        double px_per_n = scene->px_per_mm * scene->mm_per_n;
        hfd_box_add(&box, at, 12.0);
        if (seen.has_force)
            hfd_box_add(
                &box, (struct hfd_at){at.x + px_per_n * seen.force.x, at.y + px_per_n * seen.force.y}, 4.0);
    }
    if (box.left > box.right) hfd_box_add(&box, (struct hfd_at){0, 0}, 100.0);
    return box;
}

/* ---- where the views stand */

/* Each below the others in the column that is shortest so far, the first of those about as short. */
static size_t shortest(const double *bottom, size_t columns) {
    size_t best = 0;
    for (size_t c = 1; c < columns; c++)
        if (bottom[c] < bottom[best] - gap_px) best = c;
    return best;
}

static void arrange(struct sheet *sheet, double px_per_mm, size_t columns, double top) {
    const double pad_x = 46.0, pad_y = 30.0;
    double bottom[max_columns], widest = 0.0;
    for (size_t c = 0; c < max_columns; c++)
        bottom[c] = top;
    sheet->scene.px_per_mm = px_per_mm;
    for (size_t i = 0; i < sheet->count; i++) {
        struct panel *panel = &sheet->panels[i];
        panel->view.px_per_mm = px_per_mm;
        panel->view.shift = (struct hfd_at){0, 0};
        panel->content = reach(&sheet->scene, &panel->view);
        widest = fmax(widest, panel->content.right - panel->content.left);
    }
    sheet->panel_width = ceil(widest + 2.0 * pad_x);
    for (size_t i = 0; i < sheet->count; i++) {
        struct panel *panel = &sheet->panels[i];
        const struct hfd_box *box = &panel->content;
        size_t column = shortest(bottom, columns);
        panel->height = ceil(box->bottom - box->top + 2.0 * pad_y);
        panel->at = (struct hfd_at){
            margin_px + (double)column * (sheet->panel_width + gap_px), bottom[column] + title_px};
        bottom[column] = panel->at.y + panel->height + gap_px;
        panel->view.shift = (struct hfd_at){floor(0.5 * (sheet->panel_width - box->left - box->right)),
            floor(0.5 * (panel->height - box->top - box->bottom))};
    }
    double used = (double)(sheet->count < columns ? sheet->count : columns);
    sheet->width = fmax(2.0 * margin_px + used * (sheet->panel_width + gap_px) - gap_px, narrowest_px);
    sheet->height = 0.0;
    for (size_t c = 0; c < columns; c++)
        sheet->height = fmax(sheet->height, bottom[c]);
}

/* As large as fits where it stands. */
static void lay_out(struct sheet *sheet, unsigned views, enum place place) {
    static const double scales[] = {6.4, 5.8, 5.2, 4.6, 4.0};
    static const struct {
        size_t columns;
        double width, height, top;
    } rooms[] = {[ALONE] = {2, 980.0, 1020.0, margin_px + title_px},
        [INSIDE] = {2, 760.0, 800.0, margin_px},
        [FLAT] = {3, 1130.0, 620.0, margin_px},
        [ROW] = {max_columns, 1130.0, 620.0, margin_px}};
    enum hfd_look looks[HFD_LOOK_COUNT];
    sheet->count = hfd_scene_looks(&sheet->scene, views, looks);
    for (size_t i = 0; i < sheet->count; i++)
        sheet->panels[i].view.look = looks[i];
    const size_t columns = rooms[place].columns;
    for (size_t i = 0; i < sizeof scales / sizeof *scales; i++) {
        arrange(sheet, scales[i], columns, rooms[place].top);
        if (sheet->width <= rooms[place].width && sheet->height <= rooms[place].height) return;
    }
}

/* ---- one view */

static void draw_edges(
    const struct sheet *sheet, const struct panel *panel, struct hfd_svg *svg, struct hfd_labels *labels) {
    const char *const *edges = hfd_looks[panel->view.look].edges;
    const double middle_x = 0.5 * sheet->panel_width, corner_y = 14.0, near = 6.0;
    const struct {
        const char *classes;
        struct hfd_at at;
        double share; /* of the text that lies left of `at` */
    } places[4] = {{"edge", {near, corner_y}, 0.0}, {"edge end", {sheet->panel_width - near, corner_y}, 1.0},
        {"edge middle", {middle_x, corner_y}, 0.5}, {"edge middle", {middle_x, panel->height - near}, 0.5}};
    for (size_t i = 0; i < 4; i++) {
        if (edges[i] == NULL) continue;
        double width = hfd_text_width(edges[i], 11.0), left = places[i].at.x - places[i].share * width;
        hfd_svg_text(svg, places[i].classes, places[i].at, edges[i]);
        hfd_labels_take(labels,
            (struct hfd_box){left - 2.0, places[i].at.y - 11.0, left + width + 2.0, places[i].at.y + 4.0});
    }
}

/* Returns how many numbers found no room. */
static size_t draw_panel(const struct sheet *sheet, const struct panel *panel, struct hfd_svg *svg) {
    const struct hfd_look_row *row = &hfd_looks[panel->view.look];
    struct hfd_labels *labels = hfd_labels_of(sheet->scene.arena, sheet->panel_width, panel->height);
    hfd_svg_text(svg, "strong", (struct hfd_at){panel->at.x, panel->at.y - 6.0}, row->title);
    hfd_svg_panel(svg, "panel", panel->at, sheet->panel_width, panel->height);
    hfd_svg_rectangle(svg, "frame", (struct hfd_at){0.5, 0.5}, sheet->panel_width - 1.0, panel->height - 1.0);
    draw_edges(sheet, panel, svg, labels);
    hfd_scene_draw_bodies(&sheet->scene, &panel->view, svg, labels);
    hfd_scene_draw_loads(&sheet->scene, &panel->view, svg, labels, sheet->panel_width, panel->height);
    size_t without = hfd_labels_write(labels, svg);
    hfd_svg_panel_end(svg);
    return without;
}

/* ---- what stands below */

typedef void glyph(struct hfd_svg *svg, double x, double y, double px_per_10_mm);

static void glyph_length(struct hfd_svg *svg, double x, double y, double px) {
    hfd_svg_line(svg, "scale", (struct hfd_at){x, y}, (struct hfd_at){x + px, y});
    hfd_svg_line(svg, "scale", (struct hfd_at){x, y - 4.0}, (struct hfd_at){x, y + 4.0});
    hfd_svg_line(svg, "scale", (struct hfd_at){x + px, y - 4.0}, (struct hfd_at){x + px, y + 4.0});
}
static void glyph_force(struct hfd_svg *svg, double x, double y, double px) {
    hfd_svg_arrow(svg, "force of-scale", (struct hfd_at){x, y}, (struct hfd_at){x + px, y});
}
static void glyph_element(struct hfd_svg *svg, double x, double y, double px) {
    (void)px;
    hfd_svg_arrow(svg, "force of-element", (struct hfd_at){x, y}, (struct hfd_at){x + 30.0, y});
}
static void glyph_teeth(struct hfd_svg *svg, double x, double y, double px) {
    const double r = 5.0;
    (void)px;
    hfd_svg_arrow(svg, "force of-teeth", (struct hfd_at){x + r, y}, (struct hfd_at){x + 32.0, y});
    hfd_svg_group(svg, "resistance", (struct hfd_at){x + r, y}, NULL);
    hfd_svg_circle(svg, NULL, (struct hfd_at){0, 0}, r);
    hfd_svg_line(svg, NULL, (struct hfd_at){-r, 0}, (struct hfd_at){r, 0});
    hfd_svg_line(svg, NULL, (struct hfd_at){0, -r}, (struct hfd_at){0, r});
    hfd_svg_group_end(svg);
}
static void glyph_screw(struct hfd_svg *svg, double x, double y, double px) {
    (void)px;
    hfd_svg_arrow(svg, "force of-screw", (struct hfd_at){x, y}, (struct hfd_at){x + 30.0, y});
}
static void glyph_moment(struct hfd_svg *svg, double x, double y, double px) {
    (void)px;
    hfd_svg_turn(svg, "moment of-teeth", (struct hfd_at){x + 14.0, y}, 8.0, 0.6, 2.0 * M_PI - 0.6);
}
static void glyph_rotation(struct hfd_svg *svg, double x, double y, double px) {
    const struct hfd_at diamond[] = {{x + 14.0, y - 5.0}, {x + 19.0, y}, {x + 14.0, y + 5.0}, {x + 9.0, y}};
    (void)px;
    hfd_svg_group(svg, "rotation", (struct hfd_at){0, 0}, NULL);
    hfd_svg_polygon(svg, "mark", diamond, 4);
    hfd_svg_group_end(svg);
}

/* Flows over the width; returns the height used. */
static double draw_legend(const struct sheet *sheet, struct hfd_svg *svg, double top) {
    const struct hfd_scene *scene = &sheet->scene;
    const bool teeth = scene->largest_nmm[HFD_LOAD_ON_TEETH] > 0.0;
    const double px = 10.0 * sheet->scene.px_per_mm, newtons = 10.0 / sheet->scene.mm_per_n, row_px = 22.0;
    const struct {
        glyph *draw;
        double width;
        const char *text;
        bool shown;
    } items[] = {
        {glyph_length, px, "10 mm", true},
        {glyph_force, px,
            hf_arena_printf(sheet->scene.arena, "%s N, as seen in the view",
                hfd_svg_number(sheet->scene.arena, newtons, 3)),
            true},
        {glyph_element, 32.0, "pull of an element, with its whole force", scene->answer->element_count > 0},
        {glyph_teeth, 34.0, "what a group of teeth gets at its centre of resistance, in the view", teeth},
        {glyph_screw, 32.0, "what a screw's head gets, in the view", scene->answer->screw_count > 0},
        {glyph_moment, 28.0, "moment in the view", true},
        {glyph_rotation, 24.0, "centre of rotation; with an arrow: it lies outside", teeth},
    };
    double x = margin_px, y = top + 10.0;
    const struct hfd_datum scale[] = {
        {"px-per-mm", hf_arena_printf(sheet->scene.arena, "%.12g", sheet->scene.px_per_mm)},
        {"mm-per-n", hf_arena_printf(sheet->scene.arena, "%.12g", sheet->scene.mm_per_n)}};
    hfd_svg_group_told(svg, "legend", scale, 2, NULL);
    for (size_t i = 0; i < sizeof items / sizeof *items; i++) {
        if (!items[i].shown) continue;
        double width = items[i].width + 6.0 + hfd_text_width(items[i].text, 11.0) + 16.0;
        if (x > margin_px && x + width > sheet->width) x = margin_px, y += row_px;
        items[i].draw(svg, x, y, px);
        hfd_svg_text(svg, NULL, (struct hfd_at){x + items[i].width + 6.0, y + 4.0}, items[i].text);
        x += width;
    }
    hfd_svg_group_end(svg);
    return y + row_px - top;
}

/* "16, 17", or "17 … 27" when there are many. */
static const char *teeth_words(const hf_segment_out *segment, hf_arena *arena) {
    if (segment->tooth_count > 7)
        return hf_arena_printf(
            arena, "%d \xE2\x80\xA6 %d", segment->teeth[0], segment->teeth[segment->tooth_count - 1]);
    const char *words = hf_arena_printf(arena, "%d", segment->teeth[0]);
    for (size_t t = 1; t < segment->tooth_count; t++)
        words = hf_arena_printf(arena, "%s, %d", words, segment->teeth[t]);
    return words;
}

static const char *movement_words(const struct hfd_scene *scene, size_t s) {
    const hf_segment_out *segment = &scene->answer->segments[s];
    /* U+2068 and U+2069 keep a name of another writing direction to itself. */
    return hf_arena_printf(scene->arena, "%s (\xE2\x81\xA8%s\xE2\x81\xA9): %s",
        teeth_words(segment, scene->arena), segment->name, segment->movement);
}

/* What elastics between the jaws or to outside give the bone. */
static const char *jaw_words(const struct hfd_scene *scene, const hf_jaw_out *jaw) {
    return hf_arena_printf(scene->arena, "%s jaw, through its plates: %s\xC2\xA0N; turning: %s",
        jaw->jaw == HF_MAXILLA ? "Upper" : "Lower", hfd_svg_number(scene->arena, hf_norm(jaw->force_n), 3),
        jaw->rotation);
}

static double draw_lines(
    struct hfd_svg *svg, hf_arena *arena, const char *classes, const char *text, double top, double width) {
    size_t count;
    const char *const *lines = hfd_text_wrapped(arena, text, 12.0, width, &count);
    for (size_t i = 0; i < count; i++)
        hfd_svg_text(svg, classes, (struct hfd_at){margin_px, top + 15.0 * (double)i + 11.0}, lines[i]);
    return 15.0 * (double)count;
}

/* ---- the whole */

static void describe_element(const hf_element_out *element, struct hfd_buf *text, hf_arena *arena) {
    hfd_buf_printf(text, "%s", element->name);
    if (!isnan(element->force_n)) hfd_buf_printf(text, ": %s N", hfd_svg_number(arena, element->force_n, 3));
    hfd_buf_text(text, ". ");
}

static const char *describe(const struct hfd_scene *scene) {
    const hf_answer *answer = scene->answer;
    struct hfd_buf text;
    hfd_buf_init(&text, scene->arena, 1024);
    hfd_buf_text(&text, "Elements: ");
    for (size_t e = 0; e < answer->element_count; e++)
        describe_element(&answer->elements[e], &text, scene->arena);
    hfd_buf_text(&text, "Teeth: ");
    for (size_t s = 0; s < answer->segment_count; s++)
        hfd_buf_printf(&text, "%s, with %s N. ", movement_words(scene, s),
            hfd_svg_number(scene->arena, hf_norm(answer->segments[s].force_n), 3));
    hfd_buf_text(&text, "Screws: ");
    for (size_t s = 0; s < answer->screw_count; s++) {
        const hf_head_load *load = &answer->screws[s].load;
        hfd_buf_printf(&text, "%s: %s N across its axis, %s N %s, a moment of %s N\xC2\xB7mm that %s it. ",
            answer->screws[s].name, hfd_svg_number(scene->arena, load->lateral_n, 3),
            hfd_svg_number(scene->arena, fabs(load->axial_n), 3),
            load->axial_n < 0.0 ? "into the bone" : "out of the bone",
            hfd_svg_number(scene->arena, fabs(load->axis_moment_nmm), 3),
            load->axis_moment_nmm > 0.0 ? "unscrews" : "tightens");
    }
    for (size_t j = 0; j < answer->jaw_count; j++)
        hfd_buf_printf(&text, "%s. ", jaw_words(scene, &answer->jaws[j]));
    hfd_buf_text(&text, answer->notice);
    return text.text;
}

static const char *title_of(const struct hfd_scene *scene) {
    char day[HFD_DATE_TEXT];
    hfd_date_print(scene->answer->on, day);
    return hf_arena_printf(scene->arena, "Free-body diagram, %s", day);
}

/* What the views come to, under them; returns where it ends. */
static double draw_words(const struct sheet *sheet, struct hfd_svg *svg, size_t without) {
    const struct hfd_scene *scene = &sheet->scene;
    double y = sheet->height, width = sheet->width - 2.0 * margin_px;
    if (without > 0)
        y += draw_lines(svg, scene->arena, "strong",
            hf_arena_printf(scene->arena,
                "%zu numbers found no room; each arrow tells its own when pointed at, and one view alone has more room.",
                without),
            y, width);
    for (size_t s = 0; s < scene->answer->segment_count; s++)
        if (hfd_scene_is_loaded(scene, s))
            y += draw_lines(svg, scene->arena, NULL, movement_words(scene, s), y, width);
    for (size_t j = 0; j < scene->answer->jaw_count; j++)
        y += draw_lines(svg, scene->arena, NULL, jaw_words(scene, &scene->answer->jaws[j]), y, width);
    if (!(scene->largest_n > 0.0))
        y += draw_lines(svg, scene->arena, NULL, "Nothing pulls on this day.", y, width);
    return y;
}

static void draw_sheet(struct hfd_buf *out, bool inside, const char *prefix, struct sheet *sheet) {
    const struct hfd_scene *scene = &sheet->scene;
    struct hfd_svg svg;
    struct hfd_buf body;
    size_t without = 0;
    hfd_buf_init(&body, scene->arena, 65536);
    svg = (struct hfd_svg){.out = &body, .inside = inside, .prefix = prefix};
    if (!inside) draw_lines(&svg, scene->arena, "strong", title_of(scene), margin_px, sheet->width);
    for (size_t i = 0; i < sheet->count; i++)
        without += draw_panel(sheet, &sheet->panels[i], &svg);
    double y = draw_words(sheet, &svg, without);
    y += 6.0;
    y += draw_legend(sheet, &svg, y);
    if (!inside)
        y +=
            draw_lines(&svg, scene->arena, "quiet", scene->answer->notice, y, sheet->width - 2.0 * margin_px);
    hfd_svg_begin(
        &svg, out, inside, prefix, sheet->width, ceil(y + margin_px), title_of(scene), describe(scene));
    hfd_buf_bytes(out, body.text, body.length);
    hfd_svg_end(&svg);
}

static double draw(struct hfd_buf *out, enum place place, const char *prefix, const hf_case *in,
    const hf_answer *answer, unsigned views, hf_arena *arena) {
    struct sheet sheet = {.count = 0};
    if (!hfd_scene_of(in, answer, arena, &sheet.scene)) return 0.0;
    lay_out(&sheet, views, place);
    draw_sheet(out, place != ALONE, prefix, &sheet);
    return sheet.scene.mm_per_n;
}

void hfd_draw_free_body(struct hfd_buf *out, bool inside_a_page, const hf_case *in, const hf_answer *answer,
    unsigned views, hf_arena *arena) {
    draw(out, inside_a_page ? INSIDE : ALONE, "free-body", in, answer, views, arena);
}

double hfd_draw_free_body_of(struct hfd_buf *out, const char *prefix, const hf_case *in,
    const hf_answer *answer, unsigned views, hf_arena *arena) {
    return draw(out, INSIDE, prefix, in, answer, views, arena);
}

void hfd_draw_free_body_flat(
    struct hfd_buf *out, const char *prefix, const hf_case *in, const hf_answer *answer, hf_arena *arena) {
    draw(out, FLAT, prefix, in, answer, HFD_ALL_VIEWS, arena);
}

bool hfd_draw_free_body_row(
    struct hfd_buf *out, const char *prefix, const hf_case *in, const hf_answer *answer, hf_arena *arena) {
    enum hfd_look looks[HFD_LOOK_COUNT];
    struct hfd_scene scene;
    if (!hfd_scene_of(in, answer, arena, &scene) || hfd_scene_looks(&scene, HFD_ALL_VIEWS, looks) < 5)
        return false;
    draw(out, ROW, prefix, in, answer, HFD_ALL_VIEWS, arena);
    return true;
}
