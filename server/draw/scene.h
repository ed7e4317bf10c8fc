/* What a free-body diagram shows: teeth and metal where they stand, and every load that is drawn. */
#ifndef HFD_SCENE_H
#define HFD_SCENE_H

#include "label.h"

enum hfd_load_of { HFD_LOAD_OF_ELEMENT, HFD_LOAD_ON_TEETH, HFD_LOAD_ON_SCREW, HFD_LOAD_KINDS };

/* A force and a moment at a point. */
struct hfd_load {
    enum hfd_load_of of;
    size_t index;           /* into the answer's elements, segments or screws */
    const char *name, *end; /* end: "from" or "to" of an element */
    bool told;              /* its force stands beside it: an element's at one end */
    hf_vec3 at_mm, force_n, moment_nmm;
};

struct hfd_scene {
    const hf_case *in;
    const hf_answer *answer;
    hf_geometry geometry;
    hf_arena *arena;
    struct hfd_load *loads; /* those first whose numbers matter most */
    size_t load_count;
    double largest_n;
    double largest_nmm[HFD_LOAD_KINDS];
    double px_per_mm, mm_per_n; /* of the paper */
};

/* False: the case is refused. */
bool hfd_scene_of(const hf_case *in, const hf_answer *answer, hf_arena *arena, struct hfd_scene *out);
/* The looks that it takes, in the order in which they are drawn. */
size_t hfd_scene_looks(const struct hfd_scene *scene, unsigned views, enum hfd_look looks[HFD_LOOK_COUNT]);

bool hfd_scene_is_loaded(const struct hfd_scene *scene, size_t segment);
bool hfd_scene_sees_tooth(enum hfd_look look, const hf_geometry_tooth *tooth);
bool hfd_scene_sees_wire(enum hfd_look look, const hf_geometry_wire *wire);
bool hfd_scene_sees_plate(const struct hfd_scene *scene, enum hfd_look look, size_t plate);
bool hfd_scene_sees_screw(const struct hfd_scene *scene, enum hfd_look look, size_t screw);
bool hfd_scene_sees_element(const struct hfd_scene *scene, enum hfd_look look, size_t element);
bool hfd_scene_sees_load(const struct hfd_scene *scene, enum hfd_look look, const struct hfd_load *load);
/* Its force stands beside it in this view: also at an element's other end when that one is alone in sight. */
bool hfd_scene_tells(const struct hfd_scene *scene, enum hfd_look look, const struct hfd_load *load);

/* Teeth, wires, plates, screws and what the elements are, without any load. */
void hfd_scene_draw_bodies(const struct hfd_scene *scene, const struct hfd_view *view, struct hfd_svg *svg,
    struct hfd_labels *labels);
/* Arrows, arcs, centres of resistance and of rotation. `width`, `height`: of the panel. */
void hfd_scene_draw_loads(const struct hfd_scene *scene, const struct hfd_view *view, struct hfd_svg *svg,
    struct hfd_labels *labels, double width, double height);

/* Part of a load that lies in the plane of a look: paper vector in N, its size, and the moment seen. */
struct hfd_seen {
    struct hfd_at force;
    double force_n, moment_nmm;
    bool has_force, has_moment; /* large enough to be drawn */
};
struct hfd_seen hfd_scene_seen(
    const struct hfd_scene *scene, enum hfd_look look, const struct hfd_load *load);
/* Centre of rotation of a segment in the plane of a look, in space; absent: none. */
hf_vec3 hfd_scene_rotation(const struct hfd_scene *scene, enum hfd_look look, size_t segment);

#endif
