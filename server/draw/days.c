#include "days.h"

#include <math.h>
#include <stdlib.h>

#include "../base/date.h"
#include "axes.h"
#include "text.h"

static const double width = 760.0, plot_left = 48.0, plot_right = 520.0, plot_top = 56.0, plot_bottom = 312.0,
                    name_px = 190.0, label_px = 34.0, mark_px = 4.0;

/* Which line is which is told by its dashes and marks as well. */
enum { STYLES = 6 };
static const char *const styles[STYLES] = {"way-1", "way-2", "way-3", "way-4", "way-5", "way-6"};

struct course {
    const hf_element_out *element;
    size_t style;
    double end_y; /* px, where the line ends */
};

struct drawing {
    struct hfd_svg svg;
    const hf_answer *answer;
    hf_arena *arena;
    struct course *courses; /* of elements with a force of their own, in their order */
    size_t count;
    struct hfd_chart chart;
};

static const char *newtons(const struct drawing *d, double value) {
    return hf_arena_printf(d->arena, "%s\xC2\xA0N", hfd_svg_number(d->arena, value, 3));
}

/* Days from the day told for. */
static double day_of(const hf_element_out *element, size_t i) {
    return (double)(element->over_time[i].day - element->days_active);
}

static bool alike(const hf_element_out *a, const hf_element_out *b) {
    if (a->over_time_count != b->over_time_count || a->days_active != b->days_active) return false;
    for (size_t i = 0; i < a->over_time_count; i++) {
        if (a->over_time[i].day != b->over_time[i].day || a->over_time[i].force_n != b->over_time[i].force_n)
            return false;
    }
    return true;
}

/* Courses that lie on one another share their dashes and marks: the next ones, or those of the first alike.
 */
static size_t style_of(const struct drawing *d, const hf_element_out *element, size_t *styles_used) {
    for (size_t i = 0; i < d->count; i++) {
        if (alike(d->courses[i].element, element)) return d->courses[i].style;
    }
    return (*styles_used)++ % STYLES;
}

static void find_courses(struct drawing *d) {
    size_t styles_used = 0;
    double first = 0.0, last = 1.0, most = 0.0;
    d->courses = HF_NEW_ARRAY(d->arena, struct course, d->answer->element_count);
    for (size_t e = 0; e < d->answer->element_count; e++) {
        const hf_element_out *element = &d->answer->elements[e];
        if (element->over_time_count == 0) continue;
        d->courses[d->count] = (struct course){element, style_of(d, element, &styles_used), 0.0};
        d->count++;
        first = fmin(first, day_of(element, 0));
        last = fmax(last, day_of(element, element->over_time_count - 1));
        for (size_t i = 0; i < element->over_time_count; i++)
            most = fmax(most, element->over_time[i].force_n);
    }
    d->chart = (struct hfd_chart){
        .x = {first, last, plot_left, plot_right}, .y = hfd_axis_round(0.0, most, 6, plot_bottom, plot_top)};
}

/* ---- lines */

static struct hfd_at at(const struct drawing *d, const hf_element_out *element, size_t i) {
    return (struct hfd_at){hfd_axis_at(&d->chart.x, day_of(element, i)),
        hfd_axis_at(&d->chart.y, element->over_time[i].force_n)};
}

/* Circle, square, diamond, triangle, and the first two again, open. */
static void put_mark(struct drawing *d, size_t style, struct hfd_at p) {
    static const double corners[3][4][2] = {{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}},
        {{0, -1.3}, {1.3, 0}, {0, 1.3}, {-1.3, 0}}, {{0, -1.2}, {1.2, 1}, {-1.2, 1}, {-1.2, 1}}};
    const char *class = style < 4 ? "dot" : "dot open";
    size_t form = style % 4;
    if (form == 0) {
        hfd_svg_circle(&d->svg, class, p, mark_px);
        return;
    }
    struct hfd_at points[4];
    for (size_t i = 0; i < 4; i++)
        points[i] =
            (struct hfd_at){p.x + mark_px * corners[form - 1][i][0], p.y + mark_px * corners[form - 1][i][1]};
    hfd_svg_polygon(&d->svg, class, points, 4);
}

static void put_course(struct drawing *d, struct course *course) {
    const hf_element_out *element = course->element;
    const struct hfd_datum data[] = {{"kind", "course"}, {"name", element->name}};
    struct hfd_at *points = HF_NEW_ARRAY(d->arena, struct hfd_at, element->over_time_count);
    for (size_t i = 0; i < element->over_time_count; i++)
        points[i] = at(d, element, i);
    course->end_y = points[element->over_time_count - 1].y;
    hfd_svg_group_told(
        &d->svg, hf_arena_printf(d->arena, "course %s", styles[course->style]), data, 2, element->name);
    hfd_svg_polyline(&d->svg, "way", points, element->over_time_count);
    for (size_t i = 0; i < element->over_time_count; i++) {
        hfd_svg_group(&d->svg, "mark", (struct hfd_at){0, 0},
            hf_arena_printf(d->arena, "%s, day %d after activation: %s", element->name,
                element->over_time[i].day, newtons(d, element->over_time[i].force_n)));
        put_mark(d, course->style, points[i]);
        hfd_svg_group_end(&d->svg);
    }
    hfd_svg_group_end(&d->svg);
}

/* ---- words beside the lines' ends, none upon another */

static int by_height(const void *a, const void *b) {
    const struct course *one = *(const struct course *const *)a, *other = *(const struct course *const *)b;
    if (one->end_y != other->end_y) return one->end_y < other->end_y ? -1 : 1;
    return one < other ? -1 : 1;
}

/* Returns where the lowest ends. */
static double put_names(struct drawing *d) {
    const struct course **order = HF_NEW_ARRAY(d->arena, const struct course *, d->count);
    for (size_t i = 0; i < d->count; i++)
        order[i] = &d->courses[i];
    qsort(order, d->count, sizeof *order, by_height);
    double y = 0.0;
    for (size_t i = 0; i < d->count; i++) {
        const hf_element_out *element = order[i]->element;
        const hf_range *range = &element->range_n;
        y = fmax(y + label_px, order[i]->end_y);
        if (i == 0) y = fmax(y, plot_top);
        hfd_svg_group(&d->svg, hf_arena_printf(d->arena, "course %s", styles[order[i]->style]),
            (struct hfd_at){0, 0}, element->name);
        hfd_svg_line(&d->svg, "leader", (struct hfd_at){plot_right + 6.0, order[i]->end_y},
            (struct hfd_at){plot_right + 20.0, y});
        put_mark(d, order[i]->style, (struct hfd_at){plot_right + 26.0, y});
        hfd_svg_text(&d->svg, "strong", (struct hfd_at){plot_right + 36.0, y},
            hfd_text_fitted(d->arena, element->name, 12.0, name_px));
        hfd_svg_text(&d->svg, NULL, (struct hfd_at){plot_right + 36.0, y + 14.0},
            hf_arena_printf(d->arena, "day 0: %s (%s to %s)", newtons(d, element->force_n),
                hfd_svg_number(d->arena, range->low, 3), hfd_svg_number(d->arena, range->high, 3)));
        hfd_svg_group_end(&d->svg);
    }
    return y + label_px;
}

static const char *day_text(const struct drawing *d) {
    char text[HFD_DATE_TEXT];
    hfd_date_print(d->answer->on, text);
    return hf_arena_strdup(d->arena, text);
}

static void put_day(struct drawing *d) {
    double x = hfd_axis_at(&d->chart.x, 0.0);
    hfd_svg_line(&d->svg, "today", (struct hfd_at){x, plot_top - 8.0}, (struct hfd_at){x, plot_bottom});
    hfd_svg_text(&d->svg, "quiet middle", (struct hfd_at){x, plot_top - 12.0}, day_text(d));
}

/* ---- the whole */

static const char *describe(const struct drawing *d) {
    struct hfd_buf text;
    hfd_buf_init(&text, d->arena, 1024);
    for (size_t i = 0; i < d->count; i++) {
        const hf_element_out *element = d->courses[i].element;
        const hf_force_at *last = &element->over_time[element->over_time_count - 1];
        hfd_buf_printf(&text, "%s: fresh %s, on %s %s, day %d after activation %s. ", element->name,
            newtons(d, element->over_time[0].force_n), day_text(d), newtons(d, element->force_n), last->day,
            newtons(d, last->force_n));
    }
    if (d->count == 0) hfd_buf_text(&text, "No element has a force of its own that could fade. ");
    hfd_buf_text(&text, d->answer->notice);
    return text.text;
}

static double put_notice(struct drawing *d, double top) {
    size_t count;
    const char *const *lines = hfd_text_wrapped(d->arena, d->answer->notice, 10.0, width - 24.0, &count);
    for (size_t i = 0; i < count; i++)
        hfd_svg_text(&d->svg, "small quiet", (struct hfd_at){12.0, top + 14.0 * (double)i}, lines[i]);
    return top + 14.0 * (double)count;
}

void hfd_draw_days(struct hfd_buf *out, bool inside_a_page, const hf_answer *answer, hf_arena *arena) {
    struct hfd_buf body;
    hfd_buf_init(&body, arena, 16384);
    struct drawing d = {.svg = {.out = &body, .prefix = "days"}, .answer = answer, .arena = arena};
    find_courses(&d);
    double bottom = plot_bottom;
    hfd_svg_text(&d.svg, "strong", (struct hfd_at){12.0, 18.0}, "Force of each element, N");
    if (d.count > 0) {
        hfd_chart_values_y(&d.svg, &d.chart, 6);
        hfd_chart_values_x(&d.svg, &d.chart, 8);
        hfd_svg_text(&d.svg, "quiet middle",
            (struct hfd_at){0.5 * (plot_left + plot_right), plot_bottom + 32.0},
            hf_arena_printf(arena, "days from %s", day_text(&d)));
        put_day(&d);
        for (size_t i = 0; i < d.count; i++)
            put_course(&d, &d.courses[i]);
        bottom = fmax(plot_bottom + 48.0, put_names(&d));
    } else {
        hfd_svg_text(&d.svg, "quiet", (struct hfd_at){12.0, 44.0},
            "No element has a force of its own that could fade.");
        bottom = 60.0;
    }
    if (!inside_a_page) bottom = put_notice(&d, bottom + 8.0);
    hfd_svg_begin(&d.svg, out, inside_a_page, "days", width, bottom, "Force over the days", describe(&d));
    hfd_buf_bytes(out, body.text, body.length);
    hfd_svg_end(&d.svg);
}
