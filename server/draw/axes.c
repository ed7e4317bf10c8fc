#include "axes.h"

#include <math.h>
#include <stdlib.h>

#include "../base/date.h"

static const double tick_gap = 6.0, under = 14.0, half_height = 3.5; /* of the small text */

double hfd_axis_at(const struct hfd_axis *axis, double value) {
    return axis->from + (value - axis->low) / (axis->high - axis->low) * (axis->to - axis->from);
}

double hfd_axis_within(const struct hfd_axis *axis, double value) {
    return hfd_axis_at(axis, fmin(fmax(value, axis->low), axis->high));
}

double hfd_axis_step(double span, int most) {
    double least = span / most, power = pow(10.0, floor(log10(least)));
    static const double round[] = {1.0, 2.0, 5.0, 10.0};
    for (size_t i = 0; i < sizeof round / sizeof *round; i++)
        if (round[i] * power >= least * (1.0 - 1e-9)) return round[i] * power;
    return 10.0 * power;
}

struct hfd_axis hfd_axis_round(double low, double high, int most, double from, double to) {
    if (!(high > low)) high = low + 1.0;
    double step = hfd_axis_step(high - low, most);
    return (struct hfd_axis){floor(low / step + 1e-9) * step, ceil(high / step - 1e-9) * step, from, to};
}

void hfd_chart_values_y(struct hfd_svg *svg, const struct hfd_chart *chart, int most) {
    const struct hfd_axis *x = &chart->x, *y = &chart->y;
    double step = hfd_axis_step(y->high - y->low, most);
    hfd_svg_group(svg, "axis-y", (struct hfd_at){0.0, 0.0}, NULL);
    for (double n = ceil(y->low / step - 1e-9); n * step <= y->high + 1e-9 * step; n += 1.0) {
        double at = hfd_axis_at(y, n * step);
        hfd_svg_line(svg, "grid", (struct hfd_at){x->from, at}, (struct hfd_at){x->to, at});
        hfd_svg_text(svg, "small quiet end", (struct hfd_at){x->from - tick_gap, at + half_height},
            hfd_svg_number(svg->out->arena, n * step, 6));
    }
    hfd_svg_group_end(svg);
}

static void put_tick_x(struct hfd_svg *svg, const struct hfd_chart *chart, double value, const char *text) {
    double at = hfd_axis_at(&chart->x, value), foot = chart->y.from;
    hfd_svg_line(svg, "grid", (struct hfd_at){at, foot}, (struct hfd_at){at, chart->y.to});
    hfd_svg_text(svg, "small quiet middle", (struct hfd_at){at, foot + under}, text);
}

static void begin_x(struct hfd_svg *svg) {
    hfd_svg_group(svg, "axis-x", (struct hfd_at){0.0, 0.0}, NULL);
}

static void end_x(struct hfd_svg *svg, const struct hfd_chart *chart) {
    hfd_svg_line(svg, "axis", (struct hfd_at){chart->x.from, chart->y.from},
        (struct hfd_at){chart->x.to, chart->y.from});
    hfd_svg_group_end(svg);
}

void hfd_chart_values_x(struct hfd_svg *svg, const struct hfd_chart *chart, int most) {
    const struct hfd_axis *x = &chart->x;
    double step = hfd_axis_step(x->high - x->low, most);
    begin_x(svg);
    for (double n = ceil(x->low / step - 1e-9); n * step <= x->high + 1e-9 * step; n += 1.0)
        put_tick_x(svg, chart, n * step, hfd_svg_number(svg->out->arena, n * step, 6));
    end_x(svg, chart);
}

/* ---------------------------------------------------------------- panels */

static const double panel_gap = 24.0;

struct hfd_panels hfd_panels_of(size_t count, double height, double top) {
    double width = count == 1 ? HFD_PANELS_WIDTH : 0.5 * (HFD_PANELS_WIDTH - panel_gap);
    return (struct hfd_panels){count, width, height, top};
}

struct hfd_at hfd_panels_at(const struct hfd_panels *panels, size_t index) {
    return (struct hfd_at){(double)(index % 2) * (panels->width + panel_gap),
        panels->top + (double)(index / 2) * (panels->height + panel_gap)};
}

double hfd_panels_end(const struct hfd_panels *panels) {
    double rows = (double)((panels->count + 1) / 2);
    return panels->top + rows * (panels->height + panel_gap) - (rows > 0.0 ? panel_gap : 0.0);
}

/* ---------------------------------------------------------------- dates */

/* First day of a month counted from January of year 0. */
static int first_of(int month, hf_arena *arena) {
    int day = 0;
    hfd_date_parse(hf_arena_printf(arena, "%04d-%02d-01", month / 12, month % 12 + 1), &day);
    return day;
}

static int month_of(int day) {
    char text[HFD_DATE_TEXT];
    hfd_date_print(day, text);
    return (int)strtol(text, NULL, 10) * 12 + (int)strtol(text + 5, NULL, 10) - 1;
}

static void put_days(struct hfd_svg *svg, const struct hfd_chart *chart, int step) {
    char text[HFD_DATE_TEXT];
    for (int day = (int)ceil(chart->x.low); day <= chart->x.high; day += step) {
        hfd_date_print(day, text);
        put_tick_x(svg, chart, day, text);
    }
}

static void put_months(struct hfd_svg *svg, const struct hfd_chart *chart, int step) {
    static const char names[][4] = {
        "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
    hf_arena *arena = svg->out->arena;
    int month = month_of((int)ceil(chart->x.low));
    month += (step - month % step) % step;
    for (int day; (day = first_of(month, arena)) <= chart->x.high; month += step) {
        if (day < chart->x.low) continue;
        put_tick_x(svg, chart, day,
            step % 12 == 0 ? hf_arena_printf(arena, "%d", month / 12)
                           : hf_arena_printf(arena, "%s %d", names[month % 12], month / 12));
    }
}

void hfd_chart_dates_x(struct hfd_svg *svg, const struct hfd_chart *chart, int most) {
    static const int month_steps[] = {1, 2, 3, 6, 12, 24, 60, 120, 240};
    static const double days_in_month = 30.4375;
    double span = chart->x.high - chart->x.low;
    begin_x(svg);
    if (span < 2.0 * days_in_month) {
        int step = (int)ceil(span / most);
        put_days(svg, chart, step < 1 ? 1 : step);
    } else {
        size_t i = 0;
        while (
            i + 1 < sizeof month_steps / sizeof *month_steps && span / days_in_month > month_steps[i] * most)
            i++;
        put_months(svg, chart, month_steps[i]);
    }
    end_x(svg, chart);
}
