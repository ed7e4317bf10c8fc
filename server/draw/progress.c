#include "progress.h"

#include <math.h>
#include <string.h>

#include "../base/date.h"
#include "axes.h"
#include "marks.h"
#include "text.h"

static const double margin = 12.0, left = 40.0, right = 36.0, plot_top = 92.0, plot_bottom = 204.0,
                    under_plot = 36.0, line_height = 15.0;

struct drawing {
    struct hfd_svg svg;
    hf_arena *arena;
    const hf_progress *progress;
};

static hf_measure measure_of(const hf_goal_out *goal) {
    int m = 0;
    while (strcmp(goal->measure, hf_measure_names[m]) != 0)
        m++;
    return (hf_measure)m;
}

static const char *measure_words(const struct drawing *d, const hf_goal_out *goal) {
    const hf_measure measure = measure_of(goal);
    return hf_arena_printf(
        d->arena, "%s, %s", hf_measure_words[measure], hf_measure_turns(measure) ? "deg" : "mm");
}

static const char *name_of(const hf_goal_out *goal) {
    return goal->segment ? goal->segment : "bite";
}

static const char *number(const struct drawing *d, double value) {
    return hfd_svg_number(d->arena, value, 3);
}

static const char *range_of(const struct drawing *d, hf_range range) {
    return hf_arena_printf(
        d->arena, "%s (%s to %s)", number(d, range.mid), number(d, range.low), number(d, range.high));
}

static const char *date(const struct drawing *d, int day) {
    char text[HFD_DATE_TEXT];
    hfd_date_print(day, text);
    return hf_arena_strdup(d->arena, text);
}

/* So many days after the day told for; whole ones, later rather than sooner. */
static const char *date_in(const struct drawing *d, double days) {
    return date(d, d->progress->on + (int)ceil(days - 1e-9));
}

/* ---------------------------------------------------------------- in words */

static const char *standing_of(const struct drawing *d, const hf_goal_out *goal) {
    const char *wished = number(d, goal->wished);
    if (!isnan(goal->now.mid))
        return hf_arena_printf(d->arena, "goal %s, now %s", wished, range_of(d, goal->now));
    if (!isnan(goal->expected.mid))
        return hf_arena_printf(
            d->arena, "goal %s, not measured; expected %s", wished, range_of(d, goal->expected));
    return hf_arena_printf(d->arena, "goal %s, not measured", wished);
}

static const char *arrival_of(const struct drawing *d, const hf_goal_out *goal) {
    hf_range days = goal->remaining_days;
    if (goal->reached_on != HF_ABSENT)
        return hf_arena_printf(d->arena, "reached on %s", date(d, goal->reached_on));
    if (isnan(days.mid))
        return isnan(goal->expected.mid) ? "no date without a first measurement" : "no end in sight";
    if (days.high <= 0.0) return "should be reached by now";
    const char *high = isnan(days.high) ? "an open end" : date_in(d, days.high);
    if (days.mid <= 0.0) return hf_arena_printf(d->arena, "should be reached by now (up to %s)", high);
    return hf_arena_printf(
        d->arena, "arrives %s (%s to %s)", date_in(d, days.mid), date_in(d, days.low), high);
}

/* ---------------------------------------------------------------- findings */

/* A finding begins with its measure in words. */
static bool is_about(const hf_finding *finding, const hf_goal_out *goal) {
    const char *words = hf_measure_words[measure_of(goal)];
    size_t length = strlen(words);
    if (strncmp(finding->message, words, length) != 0 || finding->message[length] != ':') return false;
    if (finding->subject != HF_ABOUT_SEGMENT) return true;
    return goal->segment && strcmp(goal->segment, finding->name) == 0;
}

static void put_finding(
    struct drawing *d, const hf_finding *finding, const char *text, struct hfd_at at, double width) {
    hfd_svg_group(&d->svg, hf_arena_printf(d->arena, "finding %s", hf_severity_names[finding->severity]),
        (struct hfd_at){0.0, 0.0}, finding->message);
    hfd_svg_text(&d->svg, "small mark", at, hfd_marks[finding->severity]);
    hfd_svg_text(&d->svg, "small", (struct hfd_at){at.x + 15.0, at.y},
        hfd_text_fitted(d->arena, text, 10.0, width - 15.0));
    hfd_svg_group_end(&d->svg);
}

static size_t findings_of(const struct drawing *d, const hf_goal_out *goal) {
    size_t count = 0;
    for (size_t i = 0; i < d->progress->finding_count; i++)
        count += is_about(&d->progress->findings[i], goal);
    return count;
}

static bool has_panel(const struct drawing *d, const hf_finding *finding) {
    for (size_t g = 0; g < d->progress->goal_count; g++)
        if (is_about(finding, &d->progress->goals[g])) return true;
    return false;
}

/* ---------------------------------------------------------------- axes */

static void cover(struct hfd_axis *axis, double value) {
    if (isnan(value)) return;
    axis->low = fmin(axis->low, value);
    axis->high = fmax(axis->high, value);
}

static void cover_range(struct hfd_axis *axis, hf_range range) {
    cover(axis, range.low);
    cover(axis, range.mid);
    cover(axis, range.high);
}

/* All days that have something to show. A far end of the arrival's interval stays outside: it would press all
 * else together. */
static struct hfd_axis days_of(const struct drawing *d, const hf_goal_out *goal, double width) {
    struct hfd_axis axis = {INFINITY, -INFINITY, left, width - right};
    cover(&axis, d->progress->on);
    if (goal->from != HF_ABSENT) cover(&axis, goal->from);
    if (goal->by != HF_ABSENT) cover(&axis, goal->by);
    for (size_t i = 0; i < goal->measured_count; i++)
        cover(&axis, goal->measured[i].on);
    cover(&axis, d->progress->on + goal->remaining_days.mid);
    double far = d->progress->on + goal->remaining_days.high;
    if (far - axis.low < 1.5 * (axis.high - axis.low)) cover(&axis, far);
    double span = fmax(axis.high - axis.low, 28.0);
    axis.high = axis.low + 1.04 * span;
    return axis;
}

static struct hfd_axis figures_of(const hf_goal_out *goal, int last) {
    struct hfd_axis axis = {goal->wished, goal->wished, plot_bottom, plot_top};
    cover(&axis, goal->start);
    cover_range(&axis, goal->now);
    for (size_t i = 0; i < goal->measured_count; i++)
        cover(&axis, goal->measured[i].value);
    if (!isnan(goal->expected.mid)) cover_range(&axis, hf_goal_expected(goal, last));
    /* What stands on the goal's line is seen off the edge. */
    double room = 0.05 * (axis.high - axis.low);
    cover(&axis, goal->wished - room);
    cover(&axis, goal->wished + room);
    return hfd_axis_round(axis.low, axis.high, 5, axis.from, axis.to);
}

/* ---------------------------------------------------------------- what stands in the chart */

enum { samples = 96 };

static void put_expected(struct drawing *d, const struct hfd_chart *chart, const hf_goal_out *goal) {
    struct hfd_at band[2 * samples + 2], middle[samples + 1];
    int first = goal->from, last = (int)floor(chart->x.high);
    if (isnan(goal->expected.mid) || last <= first) return;
    if (goal->start_on > first) first = goal->start_on;
    for (int i = 0; i <= samples; i++) {
        int day = first + (int)((long)(last - first) * i / samples);
        hf_range at = hf_goal_expected(goal, day);
        double x = hfd_axis_at(&chart->x, day);
        band[i] = (struct hfd_at){x, hfd_axis_at(&chart->y, at.high)};
        band[2 * samples + 1 - i] = (struct hfd_at){x, hfd_axis_at(&chart->y, at.low)};
        middle[i] = (struct hfd_at){x, hfd_axis_at(&chart->y, at.mid)};
    }
    hfd_svg_polygon(&d->svg, "band", band, 2 * samples + 2);
    hfd_svg_polyline(&d->svg, "expected", middle, samples + 1);
}

/* In two rows, so that the words of two days never meet; no line runs through the other's words. */
static void put_day(struct drawing *d, const struct hfd_chart *chart, const char *classes, int day,
    const char *what, double label_y) {
    double x = hfd_axis_at(&chart->x, day);
    const char *text = hf_arena_printf(d->arena, "%s %s", what, date(d, day));
    double half = 0.5 * hfd_text_width(text, 10.0), label_x = fmin(fmax(x, half), chart->x.to + right - half);
    hfd_svg_line(&d->svg, classes, (struct hfd_at){x, chart->y.from}, (struct hfd_at){x, chart->y.to - 3.0});
    hfd_svg_text(&d->svg, "small middle", (struct hfd_at){label_x, label_y}, text);
}

static void put_now(struct drawing *d, const struct hfd_chart *chart, const hf_goal_out *goal) {
    if (isnan(goal->now.mid)) return;
    double x = hfd_axis_at(&chart->x, d->progress->on), low = hfd_axis_at(&chart->y, goal->now.low),
           high = hfd_axis_at(&chart->y, goal->now.high);
    hfd_svg_group(&d->svg, "now", (struct hfd_at){0.0, 0.0},
        hf_arena_printf(d->arena, "now %s", range_of(d, goal->now)));
    hfd_mark_whisker(&d->svg, (struct hfd_at){x, low}, (struct hfd_at){x, high});
    hfd_mark_diamond(&d->svg, (struct hfd_at){x, hfd_axis_at(&chart->y, goal->now.mid)});
    hfd_svg_group_end(&d->svg);
}

/* On the line of the goal: when it is reached. An end that is open runs to the edge. */
static void put_arrival(struct drawing *d, const struct hfd_chart *chart, const hf_goal_out *goal) {
    hf_range days = goal->remaining_days;
    if (goal->reached_on != HF_ABSENT || isnan(days.mid)) return;
    int on = d->progress->on;
    double y = hfd_axis_at(&chart->y, goal->wished), low = hfd_axis_within(&chart->x, on + days.low),
           high = isnan(days.high) ? chart->x.to : hfd_axis_within(&chart->x, on + days.high);
    struct hfd_at from = {hfd_axis_at(&chart->x, on),
        hfd_axis_at(&chart->y, isnan(goal->now.mid) ? goal->expected.mid : goal->now.mid)};
    struct hfd_at to = {hfd_axis_at(&chart->x, on + days.mid), y};
    hfd_svg_group(&d->svg, "arrival", (struct hfd_at){0.0, 0.0}, arrival_of(d, goal));
    hfd_svg_line(&d->svg, "forecast", from, to);
    hfd_svg_line(&d->svg, "whisker", (struct hfd_at){low, y}, (struct hfd_at){high, y});
    hfd_svg_line(&d->svg, "whisker", (struct hfd_at){low, y - 4.0}, (struct hfd_at){low, y + 4.0});
    double back = high < chart->x.to - 0.5 ? 0.0 : 5.0; /* a cap, or an arrow that says: farther */
    struct hfd_at ending[] = {{high - back, y - 4.0}, {high, y}, {high - back, y + 4.0}};
    hfd_svg_polyline(&d->svg, "whisker", ending, 3);
    hfd_mark_diamond(&d->svg, to);
    hfd_svg_group_end(&d->svg);
}

static void put_measured(struct drawing *d, const struct hfd_chart *chart, const hf_goal_out *goal) {
    struct hfd_at *points = HF_NEW_ARRAY(d->arena, struct hfd_at, goal->measured_count);
    for (size_t i = 0; i < goal->measured_count; i++)
        points[i] = (struct hfd_at){
            hfd_axis_at(&chart->x, goal->measured[i].on), hfd_axis_at(&chart->y, goal->measured[i].value)};
    hfd_svg_polyline(&d->svg, "measured", points, goal->measured_count);
    for (size_t i = 0; i < goal->measured_count; i++) {
        const hf_seen *seen = &goal->measured[i];
        hfd_svg_group(&d->svg, NULL, (struct hfd_at){0.0, 0.0},
            hf_arena_printf(d->arena, "measured %s on %s", number(d, seen->value), date(d, seen->on)));
        hfd_svg_circle(&d->svg, "measured", points[i], 3.5);
        hfd_svg_group_end(&d->svg);
    }
}

static void put_chart(struct drawing *d, const hf_goal_out *goal, double width) {
    struct hfd_chart chart = {.x = days_of(d, goal, width)};
    chart.y = figures_of(goal, (int)floor(chart.x.high));
    double wished = hfd_axis_at(&chart.y, goal->wished);
    hfd_chart_values_y(&d->svg, &chart, 5);
    hfd_chart_dates_x(&d->svg, &chart, width > 400.0 ? 9 : 5);
    put_expected(d, &chart, goal);
    hfd_svg_line(&d->svg, "goal", (struct hfd_at){chart.x.from, wished}, (struct hfd_at){chart.x.to, wished});
    hfd_svg_text(&d->svg, "small", (struct hfd_at){chart.x.to + 5.0, wished + 3.5}, "goal");
    put_day(d, &chart, "today", d->progress->on, "on", plot_top - 6.0);
    if (goal->by != HF_ABSENT) put_day(d, &chart, "planned", goal->by, "planned", plot_top - 20.0);
    put_arrival(d, &chart, goal);
    put_now(d, &chart, goal);
    put_measured(d, &chart, goal);
}

/* ---------------------------------------------------------------- the whole */

static void put_panel(struct drawing *d, struct hfd_at at, double width, const hf_goal_out *goal) {
    double y = plot_bottom + under_plot;
    hfd_svg_group(&d->svg, "goal-panel", at, name_of(goal));
    hfd_svg_text(
        &d->svg, "strong", (struct hfd_at){0.0, 14.0}, hfd_text_fitted(d->arena, name_of(goal), 13.0, width));
    hfd_svg_text(&d->svg, "small quiet", (struct hfd_at){0.0, 29.0}, measure_words(d, goal));
    hfd_svg_text(&d->svg, "small", (struct hfd_at){0.0, 44.0}, standing_of(d, goal));
    hfd_svg_text(&d->svg, "small", (struct hfd_at){0.0, 58.0}, arrival_of(d, goal));
    put_chart(d, goal, width);
    for (size_t i = 0; i < d->progress->finding_count; i++) {
        const hf_finding *finding = &d->progress->findings[i];
        if (!is_about(finding, goal)) continue;
        put_finding(d, finding, finding->message + strlen(goal->measure) + 2, (struct hfd_at){0.0, y}, width);
        y += line_height;
    }
    hfd_svg_group_end(&d->svg);
}

/* Findings that belong to no panel: movement that nobody wished. */
static double put_others(struct drawing *d, double y) {
    for (size_t i = 0; i < d->progress->finding_count; i++) {
        const hf_finding *finding = &d->progress->findings[i];
        if (has_panel(d, finding)) continue;
        const char *text = hf_arena_printf(d->arena, "%s%s%s", finding->name ? finding->name : "",
            finding->name ? ": " : "", finding->message);
        put_finding(d, finding, text, (struct hfd_at){0.0, y}, HFD_PANELS_WIDTH);
        y += line_height;
    }
    return y;
}

static void put_key(struct drawing *d, double y) {
    struct hfd_at band[] = {{0.0, y - 9.0}, {22.0, y - 9.0}, {22.0, y + 1.0}, {0.0, y + 1.0}},
                  middle[] = {{0.0, y - 4.0}, {22.0, y - 4.0}};
    hfd_svg_group(&d->svg, "key", (struct hfd_at){0.0, 0.0}, NULL);
    hfd_svg_polygon(&d->svg, "band", band, 4);
    hfd_svg_polyline(&d->svg, "expected", middle, 2);
    hfd_svg_text(
        &d->svg, "small quiet", (struct hfd_at){28.0, y}, "expected by the published rate, 95 % of patients");
    hfd_svg_circle(&d->svg, "measured", (struct hfd_at){310.0, y - 4.0}, 3.5);
    hfd_svg_text(&d->svg, "small quiet", (struct hfd_at){319.0, y}, "measured");
    hfd_mark_diamond(&d->svg, (struct hfd_at){396.0, y - 4.0});
    hfd_svg_text(
        &d->svg, "small quiet", (struct hfd_at){406.0, y}, "estimate of now and of the arrival, 95 %");
    hfd_svg_group_end(&d->svg);
}

static const char *description_of(struct drawing *d) {
    struct hfd_buf text;
    hfd_buf_init(&text, d->arena, 512);
    for (size_t g = 0; g < d->progress->goal_count; g++) {
        const hf_goal_out *goal = &d->progress->goals[g];
        hfd_buf_printf(&text, "%s, %s: %s; %s. ", name_of(goal), measure_words(d, goal), standing_of(d, goal),
            arrival_of(d, goal));
    }
    for (size_t i = 0; i < d->progress->finding_count; i++)
        hfd_buf_printf(&text, "%s ", d->progress->findings[i].message);
    hfd_buf_text(&text, d->progress->notice);
    return text.text;
}

void hfd_draw_progress(struct hfd_buf *out, bool inside, const hf_progress *progress) {
    struct drawing d = {.arena = out->arena, .progress = progress};
    size_t most = 0, others = 0;
    for (size_t g = 0; g < progress->goal_count; g++) {
        size_t found = findings_of(&d, &progress->goals[g]);
        most = found > most ? found : most;
    }
    for (size_t i = 0; i < progress->finding_count; i++)
        others += !has_panel(&d, &progress->findings[i]);
    struct hfd_panels panels =
        hfd_panels_of(progress->goal_count, plot_bottom + 22.0 + line_height * (double)most, 30.0);
    double end = hfd_panels_end(&panels) + 24.0;
    const char *title = hf_arena_printf(d.arena, "Progress against the goals, %s", date(&d, progress->on));
    hfd_svg_begin(&d.svg, out, inside, "progress", HFD_PANELS_WIDTH + 2.0 * margin,
        end + line_height * (double)others + 2.0 * margin, title, description_of(&d));
    hfd_svg_group(&d.svg, NULL, (struct hfd_at){margin, margin}, NULL);
    hfd_svg_text(&d.svg, "strong", (struct hfd_at){0.0, 10.0}, title);
    for (size_t g = 0; g < progress->goal_count; g++)
        put_panel(&d, hfd_panels_at(&panels, g), panels.width, &progress->goals[g]);
    end = put_others(&d, end - 6.0);
    if (progress->goal_count > 0)
        put_key(&d, end + 6.0);
    else
        hfd_svg_text(&d.svg, "quiet", (struct hfd_at){0.0, 34.0}, "The case has no goals yet.");
    hfd_svg_group_end(&d.svg);
    hfd_svg_end(&d.svg);
}
