/* Axes of charts: where a value stands, at which round values a reader finds his way, and dates. */
#ifndef HFD_AXES_H
#define HFD_AXES_H

#include "svg.h"

/* `low` stands at `from`, `high` at `to`; upwards when from > to. */
struct hfd_axis {
    double low, high, from, to;
};

double hfd_axis_at(const struct hfd_axis *axis, double value);
/* The same, no farther than the axis goes. */
double hfd_axis_within(const struct hfd_axis *axis, double value);
/* 1, 2 or 5 times a power of ten, such that at most `most` steps cover the span. */
double hfd_axis_step(double span, int most);
/* From a whole step to a whole step around low … high. */
struct hfd_axis hfd_axis_round(double low, double high, int most, double from, double to);

struct hfd_chart {
    struct hfd_axis x, y;
};

/* Grid lines with their values, at most `most` steps: to the left of the chart, or under it. */
void hfd_chart_values_y(struct hfd_svg *svg, const struct hfd_chart *chart, int most);
void hfd_chart_values_x(struct hfd_svg *svg, const struct hfd_chart *chart, int most);
/* The same under a chart whose x is days since 1970-01-01: firsts of months ("Mar 2026"), of years ("2026"),
 * or days ("2026-03-02") when there are few. */
void hfd_chart_dates_x(struct hfd_svg *svg, const struct hfd_chart *chart, int most);

/* Small charts in rows of two; one alone takes the whole width. */
struct hfd_panels {
    size_t count;
    double width, height; /* of one */
    double top;           /* of the first */
};

#define HFD_PANELS_WIDTH 720.0

struct hfd_panels hfd_panels_of(size_t count, double height, double top);
struct hfd_at hfd_panels_at(const struct hfd_panels *panels, size_t index);
/* Where the last row ends. */
double hfd_panels_end(const struct hfd_panels *panels);

#endif
