/* Where everything of a case stands, for whoever draws it: nothing left out, nothing solved. */
#ifndef HF_GEOMETRY_H
#define HF_GEOMETRY_H

#include "arena.h"
#include "case.h"
#include "tooth.h"

typedef struct hf_geometry_tooth {
    const hf_tooth *tooth;
    const hf_morphology *shape;
    size_t segment; /* index into the answer's segments; SIZE_MAX: the case does not name it */
} hf_geometry_tooth;

/* A straight piece of a plate or of a wire. */
typedef struct hf_geometry_bar {
    hf_vec3 from_mm, to_mm;
    hf_vec3 normal; /* direction of the thickness, as given */
    bool round;
    double width_mm, thickness_mm; /* both the diameter when round */
} hf_geometry_bar;

typedef struct hf_geometry_wire {
    hf_jaw jaw;
    hf_geometry_bar span;
} hf_geometry_wire;

typedef struct hf_geometry_fitting {
    const char *node;
    hf_fitting_kind kind;
    hf_vec3 at_mm;
    hf_vec3 axis; /* of a tube; may be absent */
} hf_geometry_fitting;

typedef struct hf_geometry_seat {
    hf_vec3 node_mm;
    size_t screw; /* index */
} hf_geometry_seat;

typedef struct hf_geometry_plate {
    const char *name;
    hf_geometry_bar *bars;
    size_t bar_count;
    hf_geometry_fitting *fittings;
    size_t fitting_count;
    hf_geometry_seat *seats;
    size_t seat_count;
} hf_geometry_plate;

typedef struct hf_geometry_screw {
    const char *name;
    hf_jaw jaw;
    hf_vec3 entry_mm, axis, head_mm; /* axis: unit, tip to head */
    double diameter_mm, length_mm;   /* length: below the entry */
} hf_geometry_screw;

typedef struct hf_geometry {
    bool jaw[HF_JAW_COUNT];   /* has something of the case in it */
    hf_geometry_tooth *teeth; /* of those jaws, along each arch; third molars only when the case names them */
    size_t tooth_count;
    hf_geometry_screw *screws; /* in the order of the case, as are the plates */
    size_t screw_count;
    hf_geometry_plate *plates;
    size_t plate_count;
    hf_geometry_wire *wires;
    size_t wire_count;
} hf_geometry;

/* False: hf_evaluate() refuses the case too, and *out is not filled. Names are borrowed from the case. */
bool hf_geometry_of(const hf_case *in, hf_arena *arena, hf_geometry *out);

#endif
