#include "survival.h"

#include <math.h>
#include <string.h>

#include "../../core/case.h"
#include "axes.h"
#include "text.h"

enum { most_others = 6 }; /* groups beyond which the others are not drawn behind each */

static const double margin = 12.0, left = 56.0, right = 10.0, plot_top = 58.0, plot_bottom = 176.0,
                    panel_height = 224.0;

struct drawing {
    struct hfd_svg svg;
    hf_arena *arena;
    const struct hfd_survival_group *told; /* those with figures */
    size_t count;
    struct hfd_chart chart; /* x: days, y: per cent; the same in every panel */
};

static const char *name_of(const struct hfd_survival_group *group) {
    return group->name ? group->name : "not recorded";
}

/* ---------------------------------------------------------------- curves */

static struct hfd_at point(const struct drawing *d, int days, double share) {
    return (struct hfd_at){hfd_axis_at(&d->chart.x, days), hfd_axis_within(&d->chart.y, 100.0 * share)};
}

/* Down the steps from (0, 1): two points a step. `of` picks the share. Ends where it is not known. */
static size_t put_steps(const struct drawing *d, const hf_survival *told,
    double (*of)(const hf_survival_step *), struct hfd_at *points) {
    double share = 1.0;
    size_t n = 0;
    points[n++] = point(d, 0, share);
    for (size_t i = 0; i < told->step_count; i++) {
        points[n++] = point(d, told->steps[i].days, share);
        share = of(&told->steps[i]);
        if (isnan(share)) return n;
        points[n++] = point(d, told->steps[i].days, share);
    }
    points[n++] = point(d, told->last_days, share);
    return n;
}

static double survival_of(const hf_survival_step *step) {
    return step->survival;
}
static double low_of(const hf_survival_step *step) {
    return step->low;
}
static double high_of(const hf_survival_step *step) {
    return step->high;
}

static void put_curve(struct drawing *d, const hf_survival *told, const char *classes) {
    struct hfd_at *points = HF_NEW_ARRAY(d->arena, struct hfd_at, 2 * told->step_count + 2);
    hfd_svg_polyline(&d->svg, classes, points, put_steps(d, told, survival_of, points));
}

static void put_band(struct drawing *d, const hf_survival *told) {
    size_t room = 2 * told->step_count + 2;
    struct hfd_at *points = HF_NEW_ARRAY(d->arena, struct hfd_at, 2 * room),
                  *lower = HF_NEW_ARRAY(d->arena, struct hfd_at, room);
    size_t upper_count = put_steps(d, told, high_of, points), lower_count = put_steps(d, told, low_of, lower);
    for (size_t i = 0; i < lower_count; i++)
        points[upper_count + i] = lower[lower_count - 1 - i];
    hfd_svg_polygon(&d->svg, "band", points, upper_count + lower_count);
}

/* A tick where screws are no longer followed; one for all that would stand in the same place. */
static void put_ends(struct drawing *d, const hf_survival *told) {
    struct hfd_at *points = HF_NEW_ARRAY(d->arena, struct hfd_at, 3 * told->followed_count);
    double share = 1.0, last = -INFINITY;
    size_t n = 0, step = 0;
    for (size_t i = 0; i < told->followed_count; i++) {
        const hf_followed *row = &told->followed[i];
        while (step < told->step_count && told->steps[step].days <= row->days)
            share = told->steps[step++].survival;
        struct hfd_at at = point(d, row->days, share);
        if (row->kept == 0 || at.x - last < 1.5) continue;
        last = at.x;
        points[n++] = (struct hfd_at){at.x, at.y - 4.0};
        points[n++] = (struct hfd_at){at.x, at.y + 4.0};
        points[n++] = (struct hfd_at){NAN, NAN};
    }
    if (n > 0) hfd_svg_polyline(&d->svg, "censor", points, n);
}

/* ---------------------------------------------------------------- a panel */

static void put_at_risk(struct drawing *d, const hf_survival *told) {
    const struct hfd_axis *x = &d->chart.x;
    double foot = d->chart.y.from + 42.0, step = hfd_axis_step(x->high - x->low, 5);
    hfd_svg_group(&d->svg, "at-risk", (struct hfd_at){0.0, 0.0}, NULL);
    hfd_svg_text(&d->svg, "small quiet end", (struct hfd_at){left - 14.0, foot}, "at risk");
    for (double n = 0.0; n * step <= x->high + 1e-9 * step; n += 1.0)
        hfd_svg_text(&d->svg, "small middle", (struct hfd_at){hfd_axis_at(x, n * step), foot},
            hf_arena_printf(d->arena, "%d", hf_survival_at_risk(told, (int)ceil(n * step))));
    hfd_svg_group_end(&d->svg);
}

static const char *median_of(struct drawing *d, const hf_survival *told) {
    hf_range median = told->median_days;
    if (told->lost == 0) return "none lost so far";
    if (isnan(median.mid)) return "fewer than half lost so far";
    return hf_arena_printf(d->arena, "half lost after %s days (95 %%: %s to %s)",
        hfd_svg_number(d->arena, median.mid, 6), hfd_svg_number(d->arena, median.low, 6),
        hfd_svg_number(d->arena, median.high, 6));
}

static const char *counts_of(struct drawing *d, const hf_survival *told) {
    return hf_arena_printf(d->arena, "%d screws, %d lost, followed for up to %d days", told->screws,
        told->lost, told->last_days);
}

static void put_panel(struct drawing *d, struct hfd_at at, const struct hfd_survival_group *group) {
    const hf_survival *told = group->survival;
    hfd_svg_group(&d->svg, "group", at, name_of(group));
    hfd_svg_text(&d->svg, "strong", (struct hfd_at){0.0, 14.0},
        hfd_text_fitted(d->arena, name_of(group), 13.0, d->chart.x.to));
    hfd_svg_text(&d->svg, "small quiet", (struct hfd_at){0.0, 29.0}, counts_of(d, told));
    hfd_svg_text(&d->svg, "small quiet", (struct hfd_at){0.0, 43.0}, median_of(d, told));
    hfd_chart_values_y(&d->svg, &d->chart, 5);
    hfd_chart_values_x(&d->svg, &d->chart, 5);
    hfd_svg_text(&d->svg, "small quiet middle",
        (struct hfd_at){0.5 * (d->chart.x.from + d->chart.x.to), d->chart.y.from + 28.0},
        "days after placement");
    put_at_risk(d, told);
    for (size_t i = 0; i < d->count && d->count <= most_others; i++)
        if (&d->told[i] != group) put_curve(d, d->told[i].survival, "other");
    put_band(d, told);
    put_curve(d, told, "curve");
    put_ends(d, told);
    hfd_svg_group_end(&d->svg);
}

/* ---------------------------------------------------------------- the whole */

/* From the lowest share that is told, in quarters. */
static struct hfd_chart chart_of(const struct drawing *d, double width) {
    double lowest = 1.0;
    int days = 1;
    for (size_t i = 0; i < d->count; i++) {
        const hf_survival *told = d->told[i].survival;
        if (told->last_days > days) days = told->last_days;
        for (size_t s = 0; s < told->step_count; s++)
            lowest = fmin(lowest, fmin(told->steps[s].survival, told->steps[s].low));
    }
    double low = fmin(25.0 * floor(4.0 * lowest), 75.0);
    return (struct hfd_chart){{0.0, days, left, width - right}, {low, 100.0, plot_bottom, plot_top}};
}

static const char *suppressed_of(hf_arena *arena, const struct hfd_survival_group *groups, size_t count) {
    const char *names = NULL;
    for (size_t i = 0; i < count; i++)
        if (groups[i].survival == NULL)
            names =
                names ? hf_arena_printf(arena, "%s; %s", names, name_of(&groups[i])) : name_of(&groups[i]);
    return names ? hf_arena_printf(arena, "Too few screws to be told of: %s", names) : NULL;
}

static const char *description_of(struct drawing *d, const char *suppressed, const char *notice) {
    struct hfd_buf text;
    hfd_buf_init(&text, d->arena, 512);
    for (size_t i = 0; i < d->count; i++) {
        hfd_buf_text(&text, name_of(&d->told[i]));
        hfd_buf_printf(
            &text, ": %s; %s. ", counts_of(d, d->told[i].survival), median_of(d, d->told[i].survival));
    }
    if (suppressed) hfd_buf_printf(&text, "%s. ", suppressed);
    hfd_buf_text(&text, notice);
    return text.text;
}

static void put_key(struct drawing *d, double y) {
    struct hfd_at band[] = {{0.0, y - 9.0}, {22.0, y - 9.0}, {22.0, y + 1.0}, {0.0, y + 1.0}};
    struct hfd_at line[] = {{0.0, y - 4.0}, {22.0, y - 4.0}};
    struct hfd_at tick[] = {{308.0, y - 8.0}, {308.0, y}}, other[] = {{452.0, y - 4.0}, {474.0, y - 4.0}};
    hfd_svg_group(&d->svg, "key", (struct hfd_at){0.0, 0.0}, NULL);
    hfd_svg_polygon(&d->svg, "band", band, 4);
    hfd_svg_polyline(&d->svg, "curve", line, 2);
    hfd_svg_text(
        &d->svg, "small quiet", (struct hfd_at){28.0, y}, "still in place, with the 95 % interval (log-log)");
    hfd_svg_polyline(&d->svg, "censor", tick, 2);
    hfd_svg_text(&d->svg, "small quiet", (struct hfd_at){316.0, y}, "no longer followed");
    if (d->count > 1 && d->count <= most_others) {
        hfd_svg_polyline(&d->svg, "other", other, 2);
        hfd_svg_text(&d->svg, "small quiet", (struct hfd_at){480.0, y}, "the other groups");
    }
    hfd_svg_group_end(&d->svg);
}

void hfd_draw_survival(struct hfd_buf *out, bool inside, const char *on, const char *by,
    const struct hfd_survival_group *groups, size_t count, const char *notice) {
    struct hfd_survival_group *told = HF_NEW_ARRAY(out->arena, struct hfd_survival_group, count);
    struct drawing d = {.arena = out->arena, .told = told};
    for (size_t i = 0; i < count; i++)
        if (groups[i].survival != NULL) told[d.count++] = groups[i];
    const char *suppressed = suppressed_of(d.arena, groups, count);
    struct hfd_panels panels = hfd_panels_of(d.count, panel_height, 30.0);
    d.chart = chart_of(&d, panels.width);
    double end = hfd_panels_end(&panels);
    const char *title = hf_arena_printf(d.arena, "Screws still in place, %%, by %s, on %s",
        strcmp(by, "age_group") == 0 ? "age of the patient" : by, on);
    hfd_svg_begin(&d.svg, out, inside, "survival", HFD_PANELS_WIDTH + 2.0 * margin, end + 48.0 + 2.0 * margin,
        title, description_of(&d, suppressed, notice));
    hfd_svg_group(&d.svg, NULL, (struct hfd_at){margin, margin}, NULL);
    hfd_svg_text(&d.svg, "strong", (struct hfd_at){0.0, 10.0}, title);
    for (size_t i = 0; i < d.count; i++)
        put_panel(&d, hfd_panels_at(&panels, i), &told[i]);
    if (d.count > 0)
        put_key(&d, end + 22.0);
    else
        hfd_svg_text(&d.svg, "quiet", (struct hfd_at){0.0, end + 22.0}, "No group has enough screws.");
    if (suppressed) {
        hfd_svg_group(&d.svg, "suppressed", (struct hfd_at){0.0, 0.0}, suppressed);
        hfd_svg_text(&d.svg, "small quiet", (struct hfd_at){0.0, end + 42.0},
            hfd_text_fitted(d.arena, suppressed, 10.0, HFD_PANELS_WIDTH));
        hfd_svg_group_end(&d.svg);
    }
    hfd_svg_group_end(&d.svg);
    hfd_svg_end(&d.svg);
}
