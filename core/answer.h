/* What comes out. Everything lives in the caller's arena. A real member that the model does not answer
 * (outside its range, or not asked) is NAN and must be left out of any text form, never shown as 0. Global
 * axes `occlusal-lps` unless a member says otherwise; units in the names. */
#ifndef HF_ANSWER_H
#define HF_ANSWER_H

#include <stddef.h>

#include "cantilever.h"
#include "case.h"
#include "findings.h"
#include "spatial.h"

typedef struct hf_range {
    double low, mid, high;
} hf_range;

/* By which law a cantilever bends. */
typedef enum hf_bending {
    HF_BENDING_UNKNOWN,
    HF_BENDING_LINEAR,
    HF_BENDING_ELASTICA,
    HF_BENDING_COUNT
} hf_bending;

typedef struct hf_force_at {
    int day; /* after activation */
    double force_n;
} hf_force_at;

typedef struct hf_element_out {
    const char *name;
    hf_element_kind kind;
    double force_n;         /* at the date */
    hf_range range_n;       /* what it may be; mid = force_n */
    double peak_force_n;    /* the largest since it was activated */
    hf_force_at *over_time; /* as it stands now, up to the horizon; empty without a force of its own */
    size_t over_time_count;
    hf_vec3 direction;      /* unit, of the force on `from`; without that end, on `to` */
    hf_vec3 from_mm, to_mm; /* points the force acts on */
    int days_active;
    double retained_fraction;
    hf_cantilever cantilever; /* numbers NAN: another kind, or not told */
    hf_bending bending;
    const char *const *basis; /* keys of sources */
    size_t basis_count;
} hf_element_out;

typedef enum hf_view { HF_FRONTAL, HF_SAGITTAL, HF_OCCLUSAL, HF_VIEW_COUNT } hf_view;

/* One plane. frontal: [x, z], turn about +y; sagittal: [y, z], about +x; occlusal: [x, y], about +z. */
typedef struct hf_view_out {
    double centre_of_resistance_mm[2];
    double force_n;                  /* in the plane */
    double moment_to_force_mm;       /* |moment about the plane's centre| / force; NAN without force */
    double sigma2_mm2;               /* for the direction of the force in this plane */
    double centre_of_rotation_mm[2]; /* NAN for pure translation */
} hf_view_out;

typedef struct hf_local_out {
    double mesial_n, buccal_n, occlusal_n;
    double tip_nmm;      /* + crown to mesial */
    double torque_nmm;   /* + crown to buccal */
    double rotation_nmm; /* + mesial side to buccal */
} hf_local_out;

typedef enum hf_motion {
    HF_MOTION_NONE,
    HF_MOTION_INTRUSION,
    HF_MOTION_EXTRUSION,
    HF_MOTION_TIPPING, /* crown goes further than root */
    HF_MOTION_BODILY,
    HF_MOTION_ROOT, /* root goes further than crown */
    HF_MOTION_TURNING,
    HF_MOTION_COUNT
} hf_motion;

extern const char *const hf_motion_names[HF_MOTION_COUNT];

/* One tooth of a group. Moments about its own centre of resistance. */
typedef struct hf_tooth_out {
    int tooth;
    hf_vec3 centre_of_resistance_mm;
    hf_vec3 translation_um; /* of that centre */
    hf_vec3 rotation_mdeg;
    const char *movement;
    double peak_kpa;
    hf_vec3 force_n, moment_nmm; /* that its ligament carries */
    hf_motion kind;
    double acting_n; /* part of the force that makes a movement of this kind: along the tooth or across it */
    double recommended_low_n, recommended_high_n;
} hf_tooth_out;

/* Where a wire joins the teeth the group's figures are those of a rigid one under the same load: exactly the
 * mean of its teeth, each weighted with the stiffness of its ligament, however soft the wire. */
typedef struct hf_segment_out {
    const char *name;
    const int *teeth;
    size_t tooth_count;
    hf_tooth_out *teeth_movement; /* as many */
    double apart; /* wire: greatest departure of a tooth from that mean, as a share of the largest
                     movement of a tooth; NAN for a rigid group */
    hf_vec3 centre_of_resistance_mm;
    double centre_radius_mm;     /* the planes' centres lie this close to the point */
    hf_vec3 force_n, moment_nmm; /* about the centre of resistance */
    hf_local_out local;
    hf_view_out views[HF_VIEW_COUNT];
    const char *movement;
    hf_vec3 translation_um; /* of the centre of resistance */
    hf_vec3 rotation_mdeg;
    double mean_kpa, peak_kpa;     /* compressive pressure across the ligament */
    const char *expected_movement; /* whose published rate is told; NULL without a shift */
    hf_range expected;             /* mm a month */
    const char *expected_source;   /* key of sources */
} hf_segment_out;

typedef struct hf_fitting_out {
    const char *node;
    hf_vec3 deflection_mm, rotation_mrad;
} hf_fitting_out;

typedef struct hf_plate_load {
    double peak_stress_mpa;          /* largest von Mises stress of any bar */
    const char *peak_from, *peak_to; /* the bar it is in; NULL without bars */
    double yield_ratio;
} hf_plate_load;

typedef struct hf_plate_out {
    const char *name;
    hf_plate_load load; /* by the forces of the date */
    hf_plate_load peak; /* by the largest ones */
    hf_fitting_out *fittings;
    size_t fitting_count;
    double least_gap_mm; /* least given tissue gap */
    const char *least_gap_node;
} hf_plate_out;

typedef enum hf_window {
    HF_WINDOW_UNKNOWN,
    HF_WINDOW_BELOW,
    HF_WINDOW_INSIDE,
    HF_WINDOW_ABOVE,
    HF_WINDOW_COUNT
} hf_window;

typedef struct hf_cause {
    const char *factor; /* "site palate-paramedian" */
    double base_loss;   /* share, for the site and what the clinic's own screws make of it */
    double odds_ratio;  /* for the others; hazard ratios are told as odds ratios */
    int placed, lost;   /* the clinic's own screws, told beside both of these; else HF_ABSENT */
    const char *source; /* key of sources */
    const char
        *evidence;    /* key of the evidence table: the number with its range; NULL for the clinic's own */
    const char *held; /* how that number is held, in words */
} hf_cause;

/* What a screw gets at the two ends of how bone may hold it (bonded, fresh): the smaller value, the larger.
 * NAN when the case fixes how its screws are held. */
typedef struct hf_sharing {
    double lateral_n[2], axial_n[2], bending_at_bone_nmm[2], cortex_peak_mpa[2];
} hf_sharing;

typedef struct hf_head_load {
    hf_wrench head; /* what the plate puts on the head, about the head */
    double axial_n; /* + pulls out */
    double lateral_n;
    double bending_at_bone_nmm; /* lateral moment at the bone surface */
    double axis_moment_nmm;     /* + unscrews (right-hand thread) */
    double cortex_radial_mpa;   /* mean radial stress at the rim */
    double cortex_von_mises_mpa;
    double cortex_peak_mpa; /* the larger of the two, compared with the limit */
    double cortex_of_limit;
    double strain_microstrain; /* largest principal strain 0.5…1.0 mm from the screw */
    double removal_ratio;      /* unscrewing moment / long-term removal torque; 0 when it tightens */
    double pull_out_ratio;     /* axial pull / pull-out force */
    double core_torsion_ratio; /* |axis moment| / plastic torsion of the core */
} hf_head_load;

/* What the findings compare a screw's load with. Torque window: NAN where none is published. */
typedef struct hf_screw_limits {
    double cortex_caution_mpa, cortex_stop_mpa;
    double unscrewing_note_nmm, unscrewing_caution_nmm, unscrewing_stop_nmm;
    double pull_out_caution, core_torsion_caution; /* of the ratios above */
    double torque_low_ncm, torque_high_ncm;
} hf_screw_limits;

typedef struct hf_screw_out {
    const char *name;
    hf_vec3 head_mm;
    hf_head_load load; /* by the forces of the date */
    hf_head_load peak; /* by the largest ones: what the findings judge */
    hf_screw_limits limits;
    bool unscrewing;
    double insertion_torque_ncm; /* as given */
    hf_window insertion_torque;
    hf_vec3 head_displacement_mm;
    hf_sharing sharing;
    hf_range loss; /* share lost within the horizon */
    hf_cause *causes;
    size_t cause_count;
} hf_screw_out;

typedef struct hf_plate_risk {
    const char *plate;
    hf_range any_lost, all_lost;
} hf_plate_risk;

/* 5, 50 and 95 % over the draws of the uncertain inputs. */
typedef struct hf_screw_spread {
    const char *name;
    hf_range cortex_peak_mpa, strain_microstrain, axis_moment_nmm;
} hf_screw_spread;

/* Along the direction of the movement told. */
typedef struct hf_segment_spread {
    const char *name;
    hf_range translation_um, rotation_mdeg;
} hf_segment_spread;

/* All that the plates of a jaw hand to its bone, where elastics pull it against the other jaw or something
 * outside. */
typedef struct hf_jaw_out {
    hf_jaw jaw;
    hf_vec3 force_n, moment_nmm; /* about about_mm */
    hf_vec3 about_mm;            /* centre that the jaw turns about */
    hf_vec3 line_mm;             /* point of the resultant's line nearest to it */
    const char *rotation;        /* "front down, back up" … or "none" */
    double hours_per_day;        /* of these elastics, weighted with their force; NAN when one is not told */
    double day_mean_n;           /* the resultant averaged over the day */
} hf_jaw_out;

typedef struct hf_assumption {
    const char *pointer; /* where in the input the value would stand: "/teeth/0/crest_mm" */
    enum { HF_ASSUMED_REAL, HF_ASSUMED_VEC3, HF_ASSUMED_TEXT } kind;
    double real;
    hf_vec3 vec3;
    const char *text;
    const char *source; /* plain words or an evidence key */
} hf_assumption;

/* A reason for refusing the input. */
typedef struct hf_problem {
    const char *pointer; /* member at fault, same notation as hf_assumption */
    const char *detail;
} hf_problem;

typedef struct hf_source {
    const char *key, *citation;
} hf_source;

typedef struct hf_answer {
    int on;
    hf_element_out *elements;
    size_t element_count;
    hf_segment_out *segments;
    size_t segment_count;
    hf_plate_out *plates;
    size_t plate_count;
    hf_screw_out *screws;
    size_t screw_count;
    double force_residual_n, moment_residual_nmm; /* worst free body */
    int horizon_days;
    hf_plate_risk *plate_risks;
    size_t plate_risk_count;
    bool has_uncertainty; /* draws were asked for */
    int samples, seed;
    hf_screw_spread *screw_spreads;
    size_t screw_spread_count;
    hf_segment_spread *segment_spreads;
    size_t segment_spread_count;

    hf_jaw_out *jaws;
    size_t jaw_count;
    hf_finding *findings;
    size_t finding_count;
    hf_assumption *assumed;
    size_t assumed_count;
    hf_source *sources; /* every key named anywhere above, sorted by key */
    size_t source_count;
    const char *notice;
    hf_problem *problems; /* not empty: refused, nothing else is filled */
    size_t problem_count;
} hf_answer;

#endif
