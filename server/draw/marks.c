#include "marks.h"

const char *const hfd_marks[HF_SEVERITY_COUNT] = {"\xE2\x97\x8F", "\xE2\x96\xB2", "\xE2\x96\xA0"};

void hfd_mark_diamond(struct hfd_svg *svg, struct hfd_at at) {
    struct hfd_at points[] = {{at.x, at.y - 5.0}, {at.x + 5.0, at.y}, {at.x, at.y + 5.0}, {at.x - 5.0, at.y}};
    hfd_svg_polygon(svg, "estimate", points, 4);
}

void hfd_mark_whisker(struct hfd_svg *svg, struct hfd_at from, struct hfd_at to) {
    bool down = from.x >= to.x && from.x <= to.x;
    struct hfd_at cap = down ? (struct hfd_at){3.0, 0.0} : (struct hfd_at){0.0, 3.0};
    hfd_svg_line(svg, "whisker", from, to);
    for (int i = 0; i < 2; i++) {
        struct hfd_at end = i ? to : from;
        hfd_svg_line(svg, "whisker", (struct hfd_at){end.x - cap.x, end.y - cap.y},
            (struct hfd_at){end.x + cap.x, end.y + cap.y});
    }
}
