#include "svg.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double head_length = 9.0, head_width = 6.0;

/* A tenth of a pixel's tenth is enough for any screen or printer, and keeps the text short. */
static void put_number(struct hfd_svg *svg, double value) {
    char text[32];
    int length = snprintf(text, sizeof text, "%.2f", fabs(value) < 0.005 ? 0.0 : value);
    while (text[length - 1] == '0')
        length--;
    if (text[length - 1] == '.') length--;
    hfd_buf_bytes(svg->out, text, (size_t)length);
}

static void put_attribute(struct hfd_svg *svg, const char *name, double value) {
    hfd_buf_printf(svg->out, " %s=\"", name);
    put_number(svg, value);
    hfd_buf_char(svg->out, '"');
}

static void put_class(struct hfd_svg *svg, const char *classes) {
    if (classes) hfd_buf_printf(svg->out, " class=\"%s\"", classes);
}

static void put_point(struct hfd_svg *svg, struct hfd_at at) {
    put_number(svg, at.x);
    hfd_buf_char(svg->out, ' ');
    put_number(svg, at.y);
}

static void put_title(struct hfd_svg *svg, const char *title) {
    if (title == NULL) return;
    hfd_buf_text(svg->out, "<title>");
    hfd_buf_markup(svg->out, title);
    hfd_buf_text(svg->out, "</title>");
}

void hfd_svg_begin(struct hfd_svg *svg, struct hfd_buf *out, bool inside, const char *prefix, double width,
    double height, const char *title, const char *description) {
    *svg = (struct hfd_svg){.out = out, .inside = inside, .prefix = prefix};
    hfd_buf_printf(out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"drawing\" viewBox=\"0 0 %g %g\" width=\"%g\" "
        "height=\"%g\" role=\"img\" aria-labelledby=\"%s-title %s-desc\">\n<title id=\"%s-title\">",
        width, height, width, height, prefix, prefix, prefix);
    hfd_buf_markup(out, title);
    hfd_buf_printf(out, "</title>\n<desc id=\"%s-desc\">", prefix);
    hfd_buf_markup(out, description);
    hfd_buf_text(out, "</desc>\n");
    if (!inside) hfd_buf_printf(out, "<style>%s</style>\n", hfd_svg_rules);
}

static const char last_line[] = "</svg>\n";

void hfd_svg_end(struct hfd_svg *svg) {
    hfd_buf_text(svg->out, last_line);
}

void hfd_svg_foot(struct hfd_buf *drawing, const char *text) {
    static const char box[] = "viewBox=\"0 0 ";
    struct hfd_svg svg = {.out = drawing};
    char *behind_width;
    strtod(strstr(drawing->text, box) + sizeof box - 1, &behind_width);
    const double height = strtod(behind_width, NULL);
    hfd_buf_cut(drawing, drawing->length - (sizeof last_line - 1));
    hfd_svg_text(&svg, "small quiet", (struct hfd_at){12.0, height - 2.0}, text);
    hfd_svg_end(&svg);
}

void hfd_svg_group(struct hfd_svg *svg, const char *classes, struct hfd_at at, const char *title) {
    hfd_buf_text(svg->out, "<g");
    put_class(svg, classes);
    if (at.x != 0.0 || at.y != 0.0) {
        hfd_buf_text(svg->out, " transform=\"translate(");
        put_point(svg, at);
        hfd_buf_text(svg->out, ")\"");
    }
    hfd_buf_char(svg->out, '>');
    put_title(svg, title);
    hfd_buf_char(svg->out, '\n');
}

void hfd_svg_group_told(
    struct hfd_svg *svg, const char *classes, const struct hfd_datum *data, size_t count, const char *title) {
    hfd_buf_text(svg->out, "<g");
    put_class(svg, classes);
    for (size_t i = 0; i < count; i++) {
        if (data[i].value == NULL) continue;
        hfd_buf_printf(svg->out, " data-%s=\"", data[i].name);
        hfd_buf_markup(svg->out, data[i].value);
        hfd_buf_char(svg->out, '"');
    }
    hfd_buf_char(svg->out, '>');
    put_title(svg, title);
    hfd_buf_char(svg->out, '\n');
}

void hfd_svg_group_end(struct hfd_svg *svg) {
    hfd_buf_text(svg->out, "</g>\n");
}

void hfd_svg_panel(struct hfd_svg *svg, const char *classes, struct hfd_at at, double width, double height) {
    hfd_buf_text(svg->out, "<svg");
    put_class(svg, classes);
    put_attribute(svg, "x", at.x);
    put_attribute(svg, "y", at.y);
    put_attribute(svg, "width", width);
    put_attribute(svg, "height", height);
    hfd_buf_text(svg->out, ">\n");
}

void hfd_svg_panel_end(struct hfd_svg *svg) {
    hfd_buf_text(svg->out, "</svg>\n");
}

void hfd_svg_line(struct hfd_svg *svg, const char *classes, struct hfd_at from, struct hfd_at to) {
    hfd_buf_text(svg->out, "<line");
    put_class(svg, classes);
    put_attribute(svg, "x1", from.x);
    put_attribute(svg, "y1", from.y);
    put_attribute(svg, "x2", to.x);
    put_attribute(svg, "y2", to.y);
    hfd_buf_text(svg->out, "/>\n");
}

void hfd_svg_rectangle(
    struct hfd_svg *svg, const char *classes, struct hfd_at at, double width, double height) {
    hfd_buf_text(svg->out, "<rect");
    put_class(svg, classes);
    put_attribute(svg, "x", at.x);
    put_attribute(svg, "y", at.y);
    put_attribute(svg, "width", width);
    put_attribute(svg, "height", height);
    hfd_buf_text(svg->out, "/>\n");
}

void hfd_svg_circle(struct hfd_svg *svg, const char *classes, struct hfd_at centre, double radius) {
    hfd_buf_text(svg->out, "<circle");
    put_class(svg, classes);
    put_attribute(svg, "cx", centre.x);
    put_attribute(svg, "cy", centre.y);
    put_attribute(svg, "r", radius);
    hfd_buf_text(svg->out, "/>\n");
}

static void put_path(
    struct hfd_svg *svg, const char *classes, const struct hfd_at *points, size_t count, bool closed) {
    hfd_buf_text(svg->out, "<path");
    put_class(svg, classes);
    hfd_buf_text(svg->out, " d=\"");
    bool drawing = false;
    for (size_t i = 0; i < count; i++) {
        bool there = isfinite(points[i].x) && isfinite(points[i].y);
        if (there) {
            hfd_buf_char(svg->out, drawing ? 'L' : 'M');
            put_point(svg, points[i]);
        }
        drawing = there;
    }
    hfd_buf_text(svg->out, closed ? "Z\"/>\n" : "\"/>\n");
}

void hfd_svg_polyline(struct hfd_svg *svg, const char *classes, const struct hfd_at *points, size_t count) {
    put_path(svg, classes, points, count, false);
}

void hfd_svg_polygon(struct hfd_svg *svg, const char *classes, const struct hfd_at *points, size_t count) {
    put_path(svg, classes, points, count, true);
}

static struct hfd_at between(struct hfd_at a, struct hfd_at b) {
    return (struct hfd_at){0.5 * (a.x + b.x), 0.5 * (a.y + b.y)};
}

void hfd_svg_smooth(struct hfd_svg *svg, const char *classes, const struct hfd_at *points, size_t count) {
    if (count < 3) return;
    hfd_buf_text(svg->out, "<path");
    put_class(svg, classes);
    hfd_buf_text(svg->out, " d=\"M");
    put_point(svg, between(points[count - 1], points[0]));
    for (size_t i = 0; i < count; i++) {
        hfd_buf_char(svg->out, 'Q');
        put_point(svg, points[i]);
        hfd_buf_char(svg->out, ' ');
        put_point(svg, between(points[i], points[(i + 1) % count]));
    }
    hfd_buf_text(svg->out, "Z\"/>\n");
}

/* Pointing along the unit vector (x, y). */
static void put_head(struct hfd_svg *svg, struct hfd_at tip, double x, double y, double length) {
    double half = 0.5 * head_width * length / head_length;
    struct hfd_at points[] = {tip, {tip.x - length * x - half * y, tip.y - length * y + half * x},
        {tip.x - length * x + half * y, tip.y - length * y - half * x}};
    put_path(svg, "head", points, 3, true);
}

void hfd_svg_arrow(struct hfd_svg *svg, const char *classes, struct hfd_at from, struct hfd_at to) {
    double x = to.x - from.x, y = to.y - from.y, length = hypot(x, y);
    if (!(length > 0.0)) return;
    x /= length, y /= length;
    double head = fmin(head_length, length);
    hfd_buf_text(svg->out, "<g");
    put_class(svg, classes);
    hfd_buf_char(svg->out, '>');
    hfd_svg_line(svg, "shaft", from, (struct hfd_at){to.x - 0.7 * head * x, to.y - 0.7 * head * y});
    put_head(svg, to, x, y, head);
    hfd_buf_text(svg->out, "</g>\n");
}

void hfd_svg_turn(
    struct hfd_svg *svg, const char *classes, struct hfd_at centre, double radius, double from, double to) {
    struct hfd_at start = {centre.x + radius * cos(from), centre.y - radius * sin(from)},
                  end = {centre.x + radius * cos(to), centre.y - radius * sin(to)};
    hfd_buf_text(svg->out, "<g");
    put_class(svg, classes);
    hfd_buf_text(svg->out, "><path class=\"shaft\" d=\"M");
    put_point(svg, start);
    hfd_buf_char(svg->out, 'A');
    put_point(svg, (struct hfd_at){radius, radius});
    hfd_buf_printf(svg->out, " 0 %d %d ", fabs(to - from) > M_PI, to < from);
    put_point(svg, end);
    hfd_buf_text(svg->out, "\"/>\n");
    double sense = to > from ? 1.0 : -1.0;
    put_head(svg, end, -sense * sin(to), -sense * cos(to), fmin(head_length, radius));
    hfd_buf_text(svg->out, "</g>\n");
}

void hfd_svg_text(struct hfd_svg *svg, const char *classes, struct hfd_at at, const char *text) {
    hfd_buf_text(svg->out, "<text");
    put_class(svg, classes);
    put_attribute(svg, "x", at.x);
    put_attribute(svg, "y", at.y);
    hfd_buf_char(svg->out, '>');
    hfd_buf_markup(svg->out, text);
    hfd_buf_text(svg->out, "</text>\n");
}

const char *hfd_svg_number(hf_arena *arena, double value, int digits) {
    if (!isfinite(value)) return "\xE2\x80\x93";
    int before = fabs(value) > 0.0 ? (int)floor(log10(fabs(value))) + 1 : 1;
    int decimals = digits - before < 0 ? 0 : digits - before;
    const char *text = hf_arena_printf(arena, "%.*f", decimals > 6 ? 6 : decimals, fabs(value));
    size_t length = strlen(text);
    if (strchr(text, '.'))
        while (text[length - 1] == '0' || text[length - 1] == '.')
            if (text[--length] == '.') break;
    bool zero = strspn(text, "0.") >= length;
    return hf_arena_printf(arena, "%s%.*s", value < 0.0 && !zero ? "\xE2\x88\x92" : "", (int)length, text);
}
