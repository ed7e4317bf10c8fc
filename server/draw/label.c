#include "label.h"

#include <math.h>
#include <string.h>

static const double size_px = 11.0, line_px = 13.0, gap_px = 2.0;
static const double crossing_px = 45.0;    /* what a leader across another label costs */
static const double covering_px = 9.0;     /* what a sample of a line under a label costs */
static const double leader_from_px = 15.0; /* nearer than this no line is needed */

static const double cell_px = 4.0;

struct hfd_labels {
    hf_arena *arena;
    double width, height;
    struct hfd_label *labels;
    size_t count, room;
    unsigned *cells; /* how much of what should stay visible lies in each, row by row */
    size_t columns, rows;
    struct hfd_box *taken;
    size_t taken_count, taken_room;
};

/* ---- what is there already */

struct hfd_labels *hfd_labels_of(hf_arena *arena, double width, double height) {
    struct hfd_labels *labels = HF_NEW(arena, struct hfd_labels);
    *labels = (struct hfd_labels){.arena = arena,
        .width = width,
        .height = height,
        .columns = 1 + (size_t)(width / cell_px),
        .rows = 1 + (size_t)(height / cell_px)};
    labels->cells = HF_NEW_ARRAY(arena, unsigned, labels->columns * labels->rows);
    return labels;
}

/* Room for one more item of `size` bytes: the old array, or a larger copy of it. */
static void *grown(hf_arena *arena, void *items, size_t count, size_t *room, size_t size) {
    if (count < *room) return items;
    *room = *room ? 2 * *room : 64;
    void *larger = hf_arena_array(arena, *room, size);
    if (count) memcpy(larger, items, count * size);
    return larger;
}

static bool is_inside(const struct hfd_labels *labels, struct hfd_at at) {
    return at.x >= 0.0 && at.y >= 0.0 && at.x < labels->width && at.y < labels->height;
}

void hfd_labels_avoid(struct hfd_labels *labels, struct hfd_at from, struct hfd_at to) {
    double length = hypot(to.x - from.x, to.y - from.y);
    int steps = 1 + (int)fmin(length / cell_px, 400.0);
    for (int i = 0; i <= steps; i++) {
        double share = (double)i / steps;
        struct hfd_at at = {from.x + share * (to.x - from.x), from.y + share * (to.y - from.y)};
        if (is_inside(labels, at))
            labels->cells[(size_t)(at.y / cell_px) * labels->columns + (size_t)(at.x / cell_px)]++;
    }
}

void hfd_labels_add(struct hfd_labels *labels, struct hfd_label label) {
    labels->labels =
        grown(labels->arena, labels->labels, labels->count, &labels->room, sizeof *labels->labels);
    labels->labels[labels->count++] = label;
}

void hfd_labels_take(struct hfd_labels *labels, struct hfd_box box) {
    labels->taken =
        grown(labels->arena, labels->taken, labels->taken_count, &labels->taken_room, sizeof *labels->taken);
    labels->taken[labels->taken_count++] = box;
}

/* ---- where a label may go */

static bool overlap(const struct hfd_box *a, const struct hfd_box *b) {
    return a->left < b->right && b->left < a->right && a->top < b->bottom && b->top < a->bottom;
}

static bool is_free(const struct hfd_labels *labels, const struct hfd_box *box) {
    if (box->left < 1.0 || box->top < 1.0 || box->right > labels->width - 1.0 ||
        box->bottom > labels->height - 1.0)
        return false;
    for (size_t i = 0; i < labels->taken_count; i++) {
        if (overlap(box, &labels->taken[i])) return false;
    }
    return true;
}

static double nearest(double low, double high, double value) {
    return fmin(fmax(value, low), high);
}

static struct hfd_at leader_end(const struct hfd_box *box, struct hfd_at at) {
    return (struct hfd_at){nearest(box->left, box->right, at.x), nearest(box->top, box->bottom, at.y)};
}

/* A line across another label would seem to point at it. */
static bool leader_is_free(const struct hfd_labels *labels, struct hfd_at from, struct hfd_at to) {
    for (int i = 0; i <= 16; i++) {
        double share = i / 16.0;
        struct hfd_at at = {from.x + share * (to.x - from.x), from.y + share * (to.y - from.y)};
        for (size_t b = 0; b < labels->taken_count; b++) {
            const struct hfd_box *box = &labels->taken[b];
            if (at.x > box->left && at.x < box->right && at.y > box->top && at.y < box->bottom) return false;
        }
    }
    return true;
}

/* Pixels of distance that a place is worth: what it covers costs. INFINITY: it cannot be used. */
static double cost_of(
    const struct hfd_labels *labels, const struct hfd_box *box, struct hfd_at at, double least) {
    struct hfd_at end = leader_end(box, at);
    double apart = hypot(end.x - at.x, end.y - at.y), cost = apart;
    if (apart >= least || !is_free(labels, box)) return INFINITY;
    if (apart > leader_from_px && !leader_is_free(labels, at, end)) cost += crossing_px;
    size_t left = (size_t)(box->left / cell_px), right = (size_t)(box->right / cell_px);
    size_t top = (size_t)(box->top / cell_px), bottom = (size_t)(box->bottom / cell_px);
    for (size_t y = top; y <= bottom && cost < least; y++)
        for (size_t x = left; x <= right; x++)
            cost += covering_px * labels->cells[y * labels->columns + x];
    return cost;
}

struct extent {
    double half_width, half_height;
};

static struct extent extent_of(const struct hfd_label *label) {
    double width = 0.0;
    size_t lines = 0;
    while (lines < HFD_LABEL_LINES && label->lines[lines])
        width = fmax(width, hfd_text_width(label->lines[lines++], size_px));
    return (struct extent){0.5 * width + gap_px, 0.5 * (line_px * (double)lines) + gap_px};
}

static struct hfd_box box_at(struct hfd_at centre, struct extent e) {
    return (struct hfd_box){
        centre.x - e.half_width, centre.y - e.half_height, centre.x + e.half_width, centre.y + e.half_height};
}

static void try_at(const struct hfd_labels *labels, struct hfd_at at, struct extent e, struct hfd_at centre,
    double *least, struct hfd_box *best) {
    struct hfd_box box = box_at(centre, e);
    double cost = cost_of(labels, &box, at, *least);
    if (cost >= *least) return;
    *least = cost;
    *best = box;
}

/* Around the point in widening rings; when all of them are full, anywhere. False: there is no room. */
static bool find_place(const struct hfd_labels *labels, const struct hfd_label *label, struct hfd_box *best) {
    static const double rings[] = {6, 10, 15, 22, 30, 40, 52, 68, 88, 112, 140};
    enum { DIRECTIONS = 24 };
    struct extent e = extent_of(label);
    double least = INFINITY;
    if (label->on_it) try_at(labels, label->at, e, label->at, &least, best);
    if (label->or_nowhere) return isfinite(least);
    for (size_t r = 0; r < sizeof rings / sizeof *rings && least > rings[r]; r++) {
        for (int d = 0; d < DIRECTIONS; d++) {
            /* The upper right first. */
            double angle = M_PI / 4.0 + 2.0 * M_PI * d / DIRECTIONS, x = cos(angle), y = -sin(angle);
            double reach = fmin(e.half_width / fmax(fabs(x), 1e-9), e.half_height / fmax(fabs(y), 1e-9));
            struct hfd_at centre = {
                label->at.x + x * (rings[r] + reach), label->at.y + y * (rings[r] + reach)};
            try_at(labels, label->at, e, centre, &least, best);
        }
    }
    for (double y = e.half_height + 1.0; isinf(least) && y < labels->height; y += 10.0)
        for (double x = e.half_width + 1.0; x < labels->width; x += 10.0)
            try_at(labels, label->at, e, (struct hfd_at){x, y}, &least, best);
    return isfinite(least);
}

static void write_one(struct hfd_labels *labels, struct hfd_svg *svg, const struct hfd_label *label,
    const struct hfd_box *box) {
    struct hfd_at end = leader_end(box, label->at);
    hfd_svg_group(svg, label->classes, (struct hfd_at){0, 0}, label->title);
    if (hypot(end.x - label->at.x, end.y - label->at.y) > leader_from_px) {
        hfd_svg_line(svg, "leader", label->at, end);
        hfd_labels_avoid(labels, label->at, end);
    }
    for (size_t i = 0; i < HFD_LABEL_LINES && label->lines[i]; i++)
        hfd_svg_text(svg, "middle",
            (struct hfd_at){0.5 * (box->left + box->right), box->top + gap_px + line_px * ((double)i + 0.78)},
            label->lines[i]);
    hfd_svg_group_end(svg);
}

size_t hfd_labels_write(struct hfd_labels *labels, struct hfd_svg *svg) {
    size_t without = 0;
    for (size_t i = 0; i < labels->count; i++) {
        struct hfd_box box;
        if (find_place(labels, &labels->labels[i], &box)) {
            write_one(labels, svg, &labels->labels[i], &box);
            hfd_labels_take(labels, box);
        } else if (!labels->labels[i].or_nowhere) {
            without++;
        }
    }
    return without;
}
