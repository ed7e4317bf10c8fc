/* A case with nothing left out and every name resolved: what the frame and the judgement work on. Internal.
 * Bodies are numbered units of teeth first, then the nodes of all plates, then points of wires. */
#ifndef HF_PLAN_H
#define HF_PLAN_H

#include "arch.h"
#include "arena.h"
#include "cantilever.h"
#include "frame.h"
#include "material.h"
#include "report.h"
#include "screw.h"
#include "segment.h"
#include "site.h"

#define HF_GROUND SIZE_MAX

/* What moves on ligaments as one body: a rigid segment, or one tooth of a segment that a wire joins. */
typedef struct hf_plan_unit {
    size_t segment;
    hf_vec3 at_mm;
    const hf_mat6 *k; /* about at_mm */
} hf_plan_unit;

/* A span of wire between attachments of neighbouring teeth, or points where something is hung on it. */
typedef struct hf_plan_span {
    size_t segment;
    size_t from, to; /* bodies */
    hf_vec3 from_mm, to_mm;
    hf_section section;
    hf_material material;
    hf_vec3 normal;
} hf_plan_span;

typedef struct hf_plan_screw {
    const hf_screw_in *in;
    hf_screw screw;
    hf_site site;
    bool has_site, cortex_assumed;
    hf_vec3 entry_mm, axis, head_mm;
    const char *outside; /* quantity outside the studied range, or NULL */
    bool has_window;
    double torque_low_ncm, torque_high_ncm;
    const char *torque_source;
    hf_window torque;
    size_t seat_count; /* seats that rest on it */
} hf_plan_screw;

typedef struct hf_plan_seat {
    size_t node, screw;
} hf_plan_seat;

typedef struct hf_plan_bar {
    size_t from, to;
    hf_section section;
    hf_material material;
    hf_vec3 normal;
} hf_plan_bar;

typedef struct hf_plan_plate {
    const hf_plate_in *in;
    size_t first_body; /* node n is body first_body + n */
    hf_vec3 *node_mm;
    hf_plan_seat *seats;
    size_t seat_count;
    hf_plan_bar *bars;
    size_t bar_count;
    hf_vec3 mean_axis; /* of its screws */
} hf_plan_plate;

typedef struct hf_plan_end {
    size_t body; /* HF_GROUND for a fixed point */
    hf_vec3 at_mm;
} hf_plan_end;

/* Forces fade: teeth move by those of the date, screws must have borne the largest. */
typedef enum hf_load_set { HF_LOADS_AT_DATE, HF_LOADS_AT_PEAK, HF_LOAD_SET_COUNT } hf_load_set;

/* A force of an element's own. */
typedef struct hf_force {
    double fresh_n;           /* nothing faded yet, as it is stretched at the date */
    double peak_n;            /* the largest since it was activated */
    double below, above;      /* how far the true one may lie below and above, as shares */
    const char *const *basis; /* keys of the evidence behind it; NULL: it was measured */
} hf_force;

typedef struct hf_plan_element {
    const hf_element_in *in;
    bool has_from, has_to;
    hf_plan_end from, to;
    hf_vec3 direction;               /* of the force on `from` */
    hf_wrench on_from, on_to;        /* about the ends, per N of force; of "applied" the whole load */
    double times[HF_LOAD_SET_COUNT]; /* what they are taken times: the force; 1 of "applied" */
    int days;
    hf_force force;                  /* fresh_n NAN: none of its own */
    double force_n;                  /* at the date */
    double retained;                 /* share of the fresh force */
    const char *const *basis;        /* of that share */
    const hf_cantilever *cantilever; /* how its wire bends; NULL: another kind, or not told */
    double lever_mm;                 /* of a cantilever: from the tube to the end, along the tube's axis */
} hf_plan_element;

typedef struct hf_plan {
    const hf_case *in;
    hf_arena *arena;
    hf_report *report;
    hf_arches arches;
    double canine_area_mm2; /* of an upper canine: published rates are told for the force on one */
    hf_tooth *teeth;        /* every tooth that the case names anywhere */
    size_t tooth_count;
    size_t slot_tooth[HF_TOOTH_SLOTS]; /* by hf_tooth_slot(): index into teeth, or SIZE_MAX */
    size_t *tooth_segment;             /* by index into teeth */
    hf_segment *segments;              /* those of the case in its order, then teeth that stand alone */
    size_t segment_count;
    hf_plan_unit *units;
    size_t unit_count;
    size_t *segment_unit; /* first unit of a segment; one that a wire joins has one per tooth, in its order */
    size_t *tooth_unit;   /* by index into teeth */
    hf_plan_span *spans;
    size_t span_count;
    size_t first_hung;     /* bodies from here on are points of wires */
    hf_plan_screw *screws; /* as many as in->screw_count */
    hf_plan_plate *plates; /* as many as in->plate_count */
    hf_plan_element *elements;
    bool has_peak; /* some element once pulled harder than at the date */
    size_t body_count;
} hf_plan;

/* All steps. False: problems were reported. What holds the bodies is not asked yet. */
bool hf_plan_make(const hf_case *in, hf_arena *arena, hf_report *report, hf_plan *out);
/* Each step reports its problems and carries on, so that a body's faults all come at once. */
void hf_plan_teeth(hf_plan *plan);
void hf_plan_wires(hf_plan *plan);
void hf_plan_screws(hf_plan *plan);
void hf_plan_plates(hf_plan *plan);
void hf_plan_elements(hf_plan *plan);

/* Index of the first equal name before `count`, or SIZE_MAX. `stride` walks an array of structs whose first
 * member is the name. */
size_t hf_plan_name(const void *items, size_t count, size_t stride, const char *name);

/* A segment of the case that a wire joins; teeth that stand alone are none. */
bool hf_plan_is_wired(const hf_plan *plan, size_t segment);
/* The body of a segment that carries a point: where a wire joins the teeth, that of the tooth to whose
 * attachment the wire's nearest point belongs, or a new one at that point. *wire: it is of the wire, not of a
 * tooth. */
size_t hf_plan_carrier(hf_plan *plan, size_t segment, hf_vec3 at_mm, bool *wire);
/* Named or given in numbers. False: a problem was reported, or the numbers are missing. */
bool hf_plan_material(hf_plan *plan, const hf_material_in *in, const char *pointer, hf_material *out);

/* What the clinician should know, from the finished answer. */
void hf_judge(const hf_plan *plan, hf_answer *out);
void hf_judge_elements(const hf_plan *plan);
void hf_judge_teeth(const hf_plan *plan, const hf_answer *out);

#endif
