#include "screw_loads.h"

#include <math.h>
#include <string.h>

#include "../base/date.h"
#include "axes.h"
#include "marks.h"
#include "text.h"

static const double margin = 12.0, names_width = 92.0, cell_gap = 18.0, head_height = 74.0, row_height = 58.0,
                    bar_top = 23.0, bar_height = 12.0, plate_height = 38.0;

/* One figure of one screw. NAN: there is none. */
struct load {
    double now, peak; /* what is judged is the larger */
    hf_range range;
    double low_limit, caution, stop;
};

/* Positive is what loads: limits stand on that side only. */
struct column {
    const char *head, *unit, *missing;
    double width;
    struct load (*of)(const hf_screw_out *screw, const hf_screw_spread *spread);
    double factor;  /* of the unit shown */
    double below;   /* how far the axis goes under 0, as a share of the upper limit */
    bool is_window; /* a value between limits, not a load up to one */
};

static const hf_range no_range = {NAN, NAN, NAN};

static struct load cortex_of(const hf_screw_out *screw, const hf_screw_spread *spread) {
    return (struct load){screw->load.cortex_peak_mpa, screw->peak.cortex_peak_mpa,
        spread ? spread->cortex_peak_mpa : no_range, NAN, screw->limits.cortex_caution_mpa,
        screw->limits.cortex_stop_mpa};
}

static struct load axis_of(const hf_screw_out *screw, const hf_screw_spread *spread) {
    return (struct load){screw->load.axis_moment_nmm, screw->peak.axis_moment_nmm,
        spread ? spread->axis_moment_nmm : no_range, NAN, screw->limits.unscrewing_caution_nmm,
        screw->limits.unscrewing_stop_nmm};
}

static struct load pull_of(const hf_screw_out *screw, const hf_screw_spread *spread) {
    (void)spread;
    return (struct load){screw->load.pull_out_ratio, screw->peak.pull_out_ratio, no_range, NAN,
        screw->limits.pull_out_caution, NAN};
}

static struct load torsion_of(const hf_screw_out *screw, const hf_screw_spread *spread) {
    (void)spread;
    return (struct load){screw->load.core_torsion_ratio, screw->peak.core_torsion_ratio, no_range, NAN,
        screw->limits.core_torsion_caution, NAN};
}

static struct load insertion_of(const hf_screw_out *screw, const hf_screw_spread *spread) {
    (void)spread;
    double torque = screw->insertion_torque_ncm;
    return (struct load){
        torque, torque, no_range, screw->limits.torque_low_ncm, screw->limits.torque_high_ncm, NAN};
}

static const struct column columns[] = {
    {"Cortex stress", "MPa", "not given", 144.0, cortex_of, 1.0, 0.0, false},
    {"Axis moment", "N mm", "not given", 156.0, axis_of, 1.0, 0.7, false},
    {"Pull-out", "% of hold", "not given", 84.0, pull_of, 100.0, 0.0, false},
    {"Core torsion", "% of core", "not given", 92.0, torsion_of, 100.0, 0.0, false},
    {"Insertion torque", "N cm", "not recorded", 112.0, insertion_of, 1.0, 0.0, true},
};
enum { column_count = sizeof columns / sizeof *columns };
static const double risk_width = 146.0;

struct drawing {
    struct hfd_svg svg;
    hf_arena *arena;
    const hf_answer *answer;
    struct hfd_axis axes[column_count], risk; /* the same for all screws */
    double width, foot;
};

static const char *number(const struct drawing *d, double value) {
    return hfd_svg_number(d->arena, value, 3);
}

/* A range is not known to more than two digits. */
static const char *range_text(const struct drawing *d, hf_range range) {
    return hf_arena_printf(d->arena, "%s to %s", hfd_svg_number(d->arena, range.low, 2),
        hfd_svg_number(d->arena, range.high, 2));
}

/* A share in per cent; a risk is never told as none. */
static const char *percent(const struct drawing *d, double share) {
    return share > 0.0 && share < 0.0001 ? "<0.01" : hfd_svg_number(d->arena, 100.0 * share, 2);
}

static const hf_screw_spread *spread_of(const struct drawing *d, const hf_screw_out *screw) {
    for (size_t i = 0; i < d->answer->screw_spread_count; i++)
        if (strcmp(d->answer->screw_spreads[i].name, screw->name) == 0) return &d->answer->screw_spreads[i];
    return NULL;
}

static struct load load_of(const struct drawing *d, const struct column *column, const hf_screw_out *screw) {
    struct load load = column->of(screw, spread_of(d, screw));
    double *const all[] = {&load.now, &load.peak, &load.range.low, &load.range.mid, &load.range.high,
        &load.low_limit, &load.caution, &load.stop};
    for (size_t i = 0; i < sizeof all / sizeof *all; i++)
        *all[i] *= column->factor;
    return load;
}

/* ---------------------------------------------------------------- axes */

/* A little beyond the last limit; what goes farther is cut there, with an arrow, and told by its number. */
static struct hfd_axis axis_of_column(const struct drawing *d, const struct column *column, double from) {
    double top = NAN, most = NAN;
    for (size_t s = 0; s < d->answer->screw_count; s++) {
        struct load load = load_of(d, column, &d->answer->screws[s]);
        top = fmax(top, fmax(load.caution, load.stop)); /* fmax leaves NAN out */
        most = fmax(most, load.now);
    }
    if (isnan(top)) top = most > 0.0 ? most : 1.0;
    return (struct hfd_axis){-column->below * top, 1.3 * top, from, from + column->width - cell_gap};
}

static struct hfd_axis axis_of_risk(const struct drawing *d, double from) {
    double most = 0.0;
    for (size_t s = 0; s < d->answer->screw_count; s++)
        most = fmax(most, d->answer->screws[s].loss.high);
    for (size_t p = 0; p < d->answer->plate_risk_count; p++)
        most = fmax(most, d->answer->plate_risks[p].any_lost.high);
    struct hfd_axis axis =
        hfd_axis_round(0.0, fmax(100.0 * most, 1.0), 4, from, from + risk_width - cell_gap);
    axis.high = fmin(axis.high, 100.0);
    return axis;
}

static void place_axes(struct drawing *d) {
    double x = names_width;
    for (size_t c = 0; c < column_count; c++) {
        d->axes[c] = axis_of_column(d, &columns[c], x);
        x += columns[c].width;
    }
    d->risk = axis_of_risk(d, x);
    d->width = x + risk_width - cell_gap;
    d->foot = head_height + row_height * (double)d->answer->screw_count +
              2.0 * plate_height * (double)d->answer->plate_risk_count;
}

/* ---------------------------------------------------------------- parts of a cell */

static hf_severity severity_of(const struct column *column, const struct load *load) {
    double judged = fmax(load->now, load->peak);
    if (judged >= load->stop) return HF_STOP;
    if (column->is_window) return judged > load->caution || judged < load->low_limit ? HF_CAUTION : HF_NOTE;
    return judged >= load->caution ? HF_CAUTION : HF_NOTE;
}

/* Strokes that rise to the right, so that a bar speaks without its colour. */
static void put_hatch(struct drawing *d, double x, double y, double width, double height, double step) {
    for (double c = step - height; c < width; c += step) {
        double begin = fmax(0.0, -c), end = fmin(height, width - c);
        if (end - begin < 1.0) continue;
        hfd_svg_line(&d->svg, "hatch", (struct hfd_at){x + c + begin, y + height - begin},
            (struct hfd_at){x + c + end, y + height - end});
    }
}

static void put_bar(
    struct drawing *d, const struct hfd_axis *axis, const struct load *load, hf_severity how) {
    double zero = hfd_axis_at(axis, 0.0), end = hfd_axis_within(axis, load->now);
    double x = fmin(zero, end), width = fabs(end - zero);
    const char *classes = hf_arena_printf(d->arena, "bar %s", hf_severity_names[how]);
    hfd_svg_rectangle(&d->svg, classes, (struct hfd_at){x, bar_top}, width, bar_height);
    if (how != HF_NOTE) put_hatch(d, x, bar_top, width, bar_height, how == HF_STOP ? 4.0 : 8.0);
    double middle = bar_top + 0.5 * bar_height, beyond = load->now > axis->high ? 6.0 : -6.0;
    if (load->now > axis->high || load->now < axis->low) {
        struct hfd_at head[] = {{end, middle - 6.0}, {end + beyond, middle}, {end, middle + 6.0}};
        hfd_svg_polygon(&d->svg, classes, head, 3);
    }
    if (fabs(hfd_axis_within(axis, load->peak) - end) < 0.5) return;
    double peak = hfd_axis_within(axis, load->peak);
    hfd_svg_line(&d->svg, "peak", (struct hfd_at){peak, bar_top - 3.0},
        (struct hfd_at){peak, bar_top + bar_height + 3.0});
}

static void put_whisker(struct drawing *d, const struct hfd_axis *axis, hf_range range, double y) {
    if (isnan(range.low) || isnan(range.high)) return;
    double low = hfd_axis_within(axis, range.low), high = hfd_axis_within(axis, range.high);
    hfd_mark_whisker(&d->svg, (struct hfd_at){low, y}, (struct hfd_at){high, y});
}

/* `part`: which part of the number stands at the line. */
static void put_limit(
    struct drawing *d, const struct hfd_axis *axis, const char *classes, double limit, const char *part) {
    if (isnan(limit)) return;
    double x = hfd_axis_at(axis, limit);
    hfd_svg_line(
        &d->svg, classes, (struct hfd_at){x, bar_top - 5.0}, (struct hfd_at){x, bar_top + bar_height + 5.0});
    hfd_svg_text(&d->svg, hf_arena_printf(d->arena, "small quiet %s", part),
        (struct hfd_at){x, bar_top + bar_height + 15.0}, number(d, limit));
}

static void put_window(struct drawing *d, const struct hfd_axis *axis, const struct load *load) {
    if (isnan(load->low_limit)) {
        hfd_svg_text(&d->svg, "small quiet", (struct hfd_at){axis->from, bar_top + bar_height + 15.0},
            "no window published");
        return;
    }
    double low = hfd_axis_at(axis, load->low_limit), high = hfd_axis_at(axis, load->caution);
    hfd_svg_rectangle(&d->svg, "window", (struct hfd_at){low, bar_top}, high - low, bar_height);
    put_limit(d, axis, "limit caution", load->low_limit, "end");
}

/* "▲ 12.3", and at the right what it may be. */
static void put_numbers(struct drawing *d, const struct column *column, const struct hfd_axis *axis,
    const struct load *load, hf_severity how) {
    if (isnan(load->now)) {
        hfd_svg_text(&d->svg, "small quiet", (struct hfd_at){axis->from, bar_top - 9.0}, column->missing);
        return;
    }
    hfd_svg_text(&d->svg, hf_arena_printf(d->arena, "strong figure %s", hf_severity_names[how]),
        (struct hfd_at){axis->from, bar_top - 9.0},
        how == HF_NOTE ? number(d, load->now)
                       : hf_arena_printf(d->arena, "%s %s", hfd_marks[how], number(d, load->now)));
    if (isnan(load->range.low)) return;
    hfd_svg_text(
        &d->svg, "small quiet end", (struct hfd_at){axis->to, bar_top - 9.0}, range_text(d, load->range));
}

static const char *cell_in_words(struct drawing *d, const struct column *column, const struct load *load) {
    struct hfd_buf text;
    hfd_buf_init(&text, d->arena, 128);
    if (isnan(load->now)) {
        hfd_buf_printf(&text, "%s %s", column->head, column->missing);
        return text.text;
    }
    hfd_buf_printf(&text, "%s %s %s", column->head, number(d, load->now), column->unit);
    if (strcmp(number(d, load->peak), number(d, load->now)) != 0)
        hfd_buf_printf(&text, ", %s at the peak of the forces", number(d, load->peak));
    if (!isnan(load->range.low)) hfd_buf_printf(&text, ", 5 to 95 %%: %s", range_text(d, load->range));
    if (column->is_window && !isnan(load->low_limit))
        hfd_buf_printf(&text, ", window %s to %s", number(d, load->low_limit), number(d, load->caution));
    else if (!isnan(load->caution))
        hfd_buf_printf(&text, ", caution from %s", number(d, load->caution));
    if (!isnan(load->stop)) hfd_buf_printf(&text, ", stop from %s", number(d, load->stop));
    return text.text;
}

static void put_cell(struct drawing *d, size_t c, const hf_screw_out *screw) {
    const struct column *column = &columns[c];
    const struct hfd_axis *axis = &d->axes[c];
    struct load load = load_of(d, column, screw);
    hf_severity how = severity_of(column, &load);
    double middle = bar_top + 0.5 * bar_height;
    hfd_svg_group(&d->svg, hf_arena_printf(d->arena, "cell c%zu", c), (struct hfd_at){0.0, 0.0},
        cell_in_words(d, column, &load));
    put_numbers(d, column, axis, &load, how);
    if (column->is_window) put_window(d, axis, &load);
    hfd_svg_line(&d->svg, "grid", (struct hfd_at){axis->from, bar_top + bar_height},
        (struct hfd_at){axis->to, bar_top + bar_height});
    if (!isnan(load.now) && !column->is_window) put_bar(d, axis, &load, how);
    put_limit(d, axis, "limit caution", load.caution, column->is_window ? "start" : "middle");
    put_limit(d, axis, "limit", load.stop, "middle");
    double zero = hfd_axis_at(axis, 0.0);
    hfd_svg_line(
        &d->svg, "axis", (struct hfd_at){zero, bar_top - 3.0}, (struct hfd_at){zero, bar_top + bar_height});
    put_whisker(d, axis, load.range, middle);
    if (!isnan(load.now) && column->is_window)
        hfd_mark_diamond(&d->svg, (struct hfd_at){hfd_axis_within(axis, load.now), middle});
    hfd_svg_group_end(&d->svg);
}

/* ---------------------------------------------------------------- risk */

static const char *risk_in_words(const struct drawing *d, hf_range loss) {
    return hf_arena_printf(d->arena, "%s %% (95 %%: %s to %s)", percent(d, loss.mid), percent(d, loss.low),
        percent(d, loss.high));
}

static const char *reasons_of(const struct drawing *d, const hf_screw_out *screw) {
    if (isnan(screw->loss.mid)) return "Without the site there is no published loss to start from.";
    struct hfd_buf text;
    hfd_buf_init(&text, d->arena, 256);
    hfd_buf_printf(
        &text, "Lost within %d days: %s. Because:", d->answer->horizon_days, risk_in_words(d, screw->loss));
    for (size_t i = 0; i < screw->cause_count; i++) {
        const hf_cause *cause = &screw->causes[i];
        hfd_buf_printf(&text, "%s %s", i ? ";" : "", cause->factor);
        if (!isnan(cause->base_loss)) hfd_buf_printf(&text, " %s %% lost", percent(d, cause->base_loss));
        if (!isnan(cause->odds_ratio)) hfd_buf_printf(&text, " odds ratio %s", number(d, cause->odds_ratio));
        if (cause->source) hfd_buf_printf(&text, " (%s)", cause->source);
    }
    return text.text;
}

/* Dot and whisker, the number over it. */
static void put_risk(struct drawing *d, hf_range loss, const char *title) {
    double middle = bar_top + 0.5 * bar_height, x = d->risk.from;
    hfd_svg_group(&d->svg, "risk", (struct hfd_at){0.0, 0.0}, title);
    if (isnan(loss.mid)) {
        hfd_svg_text(&d->svg, "small quiet", (struct hfd_at){x, bar_top - 9.0}, "not told: no site");
    } else {
        hf_range shown = {100.0 * loss.low, 100.0 * loss.mid, 100.0 * loss.high};
        hfd_svg_text(&d->svg, "strong figure", (struct hfd_at){x, bar_top - 9.0}, percent(d, loss.mid));
        hfd_svg_text(&d->svg, "small quiet end", (struct hfd_at){d->risk.to, bar_top - 9.0},
            hf_arena_printf(d->arena, "%s to %s", percent(d, loss.low), percent(d, loss.high)));
        put_whisker(d, &d->risk, shown, middle);
        hfd_svg_circle(
            &d->svg, "measured", (struct hfd_at){hfd_axis_within(&d->risk, shown.mid), middle}, 4.0);
    }
    hfd_svg_group_end(&d->svg);
}

/* ---------------------------------------------------------------- rows */

static void put_screw(struct drawing *d, const hf_screw_out *screw, double y) {
    hfd_svg_group(&d->svg, "screw", (struct hfd_at){0.0, y}, screw->name);
    hfd_svg_line(&d->svg, "grid", (struct hfd_at){0.0, -4.0}, (struct hfd_at){d->width, -4.0});
    hfd_svg_text(&d->svg, "strong", (struct hfd_at){0.0, bar_top - 9.0},
        hfd_text_fitted(d->arena, screw->name, 12.0, names_width - 8.0));
    if (screw->unscrewing) hfd_svg_text(&d->svg, "small", (struct hfd_at){0.0, bar_top + 8.0}, "unscrews");
    for (size_t c = 0; c < column_count; c++)
        put_cell(d, c, screw);
    put_risk(d, screw->loss, reasons_of(d, screw));
    hfd_svg_group_end(&d->svg);
}

static void put_plate(struct drawing *d, const char *plate, const char *what, hf_range loss, double y) {
    const char *text = hf_arena_printf(d->arena, "%s: %s", plate, what);
    hfd_svg_group(&d->svg, "plate", (struct hfd_at){0.0, y}, text);
    hfd_svg_line(&d->svg, "grid", (struct hfd_at){0.0, -4.0}, (struct hfd_at){d->width, -4.0});
    hfd_svg_text(&d->svg, "end", (struct hfd_at){d->risk.from - cell_gap, bar_top - 9.0},
        hfd_text_fitted(d->arena, text, 12.0, d->risk.from - cell_gap));
    put_risk(d, loss, risk_in_words(d, loss));
    hfd_svg_group_end(&d->svg);
}

static void put_rows(struct drawing *d) {
    double y = head_height;
    for (size_t s = 0; s < d->answer->screw_count; s++, y += row_height)
        put_screw(d, &d->answer->screws[s], y);
    for (size_t p = 0; p < d->answer->plate_risk_count; p++, y += 2.0 * plate_height) {
        const hf_plate_risk *risk = &d->answer->plate_risks[p];
        put_plate(d, risk->plate, "at least one screw lost", risk->any_lost, y);
        put_plate(d, risk->plate, "all screws lost", risk->all_lost, y + plate_height);
    }
}

/* ---------------------------------------------------------------- the whole */

static void put_head(struct drawing *d, const char *title) {
    hfd_svg_text(&d->svg, "strong", (struct hfd_at){0.0, 10.0}, title);
    for (size_t c = 0; c < column_count; c++) {
        hfd_svg_text(&d->svg, "small strong", (struct hfd_at){d->axes[c].from, 38.0}, columns[c].head);
        hfd_svg_text(&d->svg, "small quiet", (struct hfd_at){d->axes[c].from, 51.0}, columns[c].unit);
        if (columns[c].below <= 0.0) continue;
        double zero = hfd_axis_at(&d->axes[c], 0.0);
        hfd_svg_text(&d->svg, "small quiet end", (struct hfd_at){zero - 5.0, 64.0}, "tightens");
        hfd_svg_text(&d->svg, "small quiet", (struct hfd_at){zero + 5.0, 64.0}, "unscrews \xE2\x86\x92");
    }
    hfd_svg_text(&d->svg, "small strong", (struct hfd_at){d->risk.from, 38.0}, "Risk of loss");
    hfd_svg_text(&d->svg, "small quiet", (struct hfd_at){d->risk.from, 51.0},
        hf_arena_printf(d->arena, "%% within %d days", d->answer->horizon_days));
}

/* Under the rows, so that each dot stands over its scale. */
static void put_risk_scale(struct drawing *d) {
    struct hfd_chart chart = {d->risk, {0.0, 1.0, d->foot, d->foot - 5.0}};
    hfd_chart_values_x(&d->svg, &chart, 4);
}

static void put_symbol(struct drawing *d, size_t which, double x, double y) {
    struct hfd_axis axis = {0.0, 1.0, x, x + 20.0};
    static const char *const lines[] = {"peak", "limit caution", "limit"};
    if (which == 0)
        hfd_svg_rectangle(&d->svg, "bar note", (struct hfd_at){x, y - 9.0}, 20.0, 10.0);
    else if (which == 1)
        put_whisker(d, &axis, (hf_range){0.0, 0.5, 1.0}, y - 4.0);
    else
        hfd_svg_line(&d->svg, lines[which - 2], (struct hfd_at){x + 16.0, y - 10.0},
            (struct hfd_at){x + 16.0, y + 2.0});
}

static void put_key(struct drawing *d, double y) {
    static const char *const words[] = {"at the date", "what it may be", "at the peak of the forces",
        "caution from", "stop from", "\xE2\x96\xB2 past caution, \xE2\x96\xA0 past stop"};
    enum { count = sizeof words / sizeof *words };
    double x = 0.0;
    hfd_svg_group(&d->svg, "key", (struct hfd_at){0.0, 0.0}, NULL);
    for (size_t i = 0; i < count; i++) {
        bool has_symbol = i + 1 < count;
        if (has_symbol) put_symbol(d, i, x, y);
        x += has_symbol ? 26.0 : 0.0;
        hfd_svg_text(&d->svg, "small quiet", (struct hfd_at){x, y}, words[i]);
        x += hfd_text_width(words[i], 10.0) + 12.0;
    }
    hfd_svg_group_end(&d->svg);
}

static const char *description_of(struct drawing *d) {
    struct hfd_buf text;
    hfd_buf_init(&text, d->arena, 1024);
    for (size_t s = 0; s < d->answer->screw_count; s++) {
        const hf_screw_out *screw = &d->answer->screws[s];
        hfd_buf_printf(&text, "%s: ", screw->name);
        for (size_t c = 0; c < column_count; c++) {
            struct load load = load_of(d, &columns[c], screw);
            hfd_buf_printf(&text, "%s; ", cell_in_words(d, &columns[c], &load));
        }
        if (!isnan(screw->loss.mid))
            hfd_buf_printf(
                &text, "lost within %d days %s. ", d->answer->horizon_days, risk_in_words(d, screw->loss));
    }
    hfd_buf_text(&text, d->answer->notice);
    return text.text;
}

void hfd_draw_screw_loads(struct hfd_buf *out, bool inside, const hf_answer *answer) {
    struct drawing d = {.arena = out->arena, .answer = answer};
    char on[HFD_DATE_TEXT];
    hfd_date_print(answer->on, on);
    const char *title = hf_arena_printf(d.arena, "Screws: load against limits, and risk, %s", on);
    place_axes(&d);
    hfd_svg_begin(&d.svg, out, inside, "loads", d.width + 2.0 * margin, d.foot + 56.0 + margin, title,
        description_of(&d));
    hfd_svg_group(&d.svg, NULL, (struct hfd_at){margin, margin}, NULL);
    put_head(&d, title);
    put_risk_scale(&d);
    put_rows(&d);
    put_key(&d, d.foot + 36.0);
    hfd_svg_group_end(&d.svg);
    hfd_svg_end(&d.svg);
}
