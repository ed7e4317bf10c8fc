/* Outlines of teeth, bars and screws as a view sees them, as closed lines of points. */
#ifndef HFD_OUTLINE_H
#define HFD_OUTLINE_H

#include "view.h"

#define HFD_OUTLINE_MAX 48

struct hfd_outline {
    struct hfd_at points[HFD_OUTLINE_MAX];
    size_t count;
};

/* The crown; in a side view with the trunk that the roots leave. */
void hfd_outline_crown(const struct hfd_view *view, const hf_geometry_tooth *tooth, struct hfd_outline *out);
/* Root `i`; empty where one looks along it. */
void hfd_outline_root(
    const struct hfd_view *view, const hf_geometry_tooth *tooth, size_t i, struct hfd_outline *out);
/* The edge or the grooves of the chewing surface, seen from above or below: pairs of points. */
size_t hfd_outline_grooves(
    const struct hfd_view *view, const hf_geometry_tooth *tooth, struct hfd_at points[4]);
/* As wide as it is in truth, at least `least_px`. */
void hfd_outline_bar(
    const struct hfd_view *view, const hf_geometry_bar *bar, double least_px, struct hfd_outline *out);
/* The threaded part and the neck, tapering to its tip; empty when seen along its axis. */
void hfd_outline_screw(const struct hfd_view *view, const hf_geometry_screw *screw, struct hfd_outline *out);

#endif
