/* Writing SVG. Lengths in user units (96 to an inch), y down. Colours and strokes come from classes alone, so
 * that a page's rules decide and no style attribute is needed; hfd_svg_rules holds them. */
#ifndef HFD_SVG_H
#define HFD_SVG_H

#include <stdbool.h>

#include "../base/buf.h"

struct hfd_svg {
    struct hfd_buf *out;
    bool inside;        /* in a page that has the rules: none are written */
    const char *prefix; /* of ids, unique in a page */
};

struct hfd_at {
    double x, y;
};

/* The rules of all drawings: custom properties for colours, light and dark, and print. */
extern const char hfd_svg_rules[];

/* Opens the drawing, told to screen readers by title and description. `prefix`: letters. */
void hfd_svg_begin(struct hfd_svg *svg, struct hfd_buf *out, bool inside, const char *prefix, double width,
    double height, const char *title, const char *description);
void hfd_svg_end(struct hfd_svg *svg);
/* One more line in the margin below a drawing that has ended. */
void hfd_svg_foot(struct hfd_buf *drawing, const char *text);

/* A group with a class, moved; `title` NULL: none. */
void hfd_svg_group(struct hfd_svg *svg, const char *classes, struct hfd_at at, const char *title);
/* The same with data-… attributes, so that whoever reads the drawing finds the numbers that made it. */
struct hfd_datum {
    const char *name, *value;
};
void hfd_svg_group_told(
    struct hfd_svg *svg, const char *classes, const struct hfd_datum *data, size_t count, const char *title);
void hfd_svg_group_end(struct hfd_svg *svg);
/* A part of the drawing with its own origin; nothing of it is seen outside. */
void hfd_svg_panel(struct hfd_svg *svg, const char *classes, struct hfd_at at, double width, double height);
void hfd_svg_panel_end(struct hfd_svg *svg);

void hfd_svg_line(struct hfd_svg *svg, const char *classes, struct hfd_at from, struct hfd_at to);
void hfd_svg_rectangle(
    struct hfd_svg *svg, const char *classes, struct hfd_at at, double width, double height);
void hfd_svg_circle(struct hfd_svg *svg, const char *classes, struct hfd_at centre, double radius);
/* Through the points; those that are not finite interrupt it. */
void hfd_svg_polyline(struct hfd_svg *svg, const char *classes, const struct hfd_at *points, size_t count);
void hfd_svg_polygon(struct hfd_svg *svg, const char *classes, const struct hfd_at *points, size_t count);
/* Closed and round: it touches the middles between the points. */
void hfd_svg_smooth(struct hfd_svg *svg, const char *classes, const struct hfd_at *points, size_t count);
/* Shaft and head, ending at `to`; shorter than its head: the head alone, as long as the arrow. */
void hfd_svg_arrow(struct hfd_svg *svg, const char *classes, struct hfd_at from, struct hfd_at to);
/* An arc about `centre` from one angle to another (radians, counter-clockwise as seen), with a head at its
 * end. */
void hfd_svg_turn(
    struct hfd_svg *svg, const char *classes, struct hfd_at centre, double radius, double from, double to);
/* Escaped. Classes "start", "middle" and "end" say which part stands at the point. */
void hfd_svg_text(struct hfd_svg *svg, const char *classes, struct hfd_at at, const char *text);

/* A number for people: at most `digits` significant ones, no exponent, a true minus sign; "–" when not
 * finite. */
const char *hfd_svg_number(hf_arena *arena, double value, int digits);

#endif
