/* What goes in: one case at one date. Plain data, filled by the caller, never changed by the core.
 *
 * Left out: a real member that is not given is NAN, a vector hf_vec3_absent(), text NULL, a count 0, an
 * integer HF_ABSENT, a point HF_POINT_NONE. hf_case_default() and its kin give exactly that state. Units: N,
 * mm, N mm, MPa, degrees where the name says `_deg`, days as whole days since 1970-01-01. Names (screws,
 * nodes, segments …) are the caller's text; the core resolves and checks them. */
#ifndef HF_CASE_H
#define HF_CASE_H

#include <limits.h>
#include <stddef.h>
#include <stdint.h>

#include "vec3.h"

#define HF_ABSENT INT_MIN

typedef enum hf_jaw { HF_MAXILLA, HF_MANDIBLE, HF_JAW_COUNT } hf_jaw;

/* A point told in coordinates or as a clinician says it. */
typedef enum hf_point_kind {
    HF_POINT_NONE,
    HF_POINT_XYZ,      /* xyz_mm */
    HF_POINT_NEAR,     /* from the crown centre of `tooth` in its own directions */
    HF_POINT_PALATE,   /* on the palatal vault: right_mm of the midline, behind_incisors_mm */
    HF_POINT_VESTIBULE /* on the buccal bone between two neighbours, apical_mm from the crest */
} hf_point_kind;

typedef struct hf_point {
    hf_point_kind kind;
    hf_vec3 xyz_mm;
    int tooth;                                /* ISO 3950 as a number: 16 */
    double mesial_mm, buccal_mm, occlusal_mm; /* NEAR; left out = 0 */
    double right_mm, behind_incisors_mm;      /* PALATE */
    int between[2];                           /* VESTIBULE */
    double apical_mm;                         /* VESTIBULE */
    double clear_mm; /* PALATE, VESTIBULE: out of the bone, along the surface normal; left out = 0 */
} hf_point;

/* Dental arch: width between the buccal faces of the second molars, depth from the incisors to their distal
 * faces, height of the palatal vault over the occlusal plane. Left out = default arch. */
typedef struct hf_arch {
    double width_mm, depth_mm, vault_height_mm;
    hf_vec3 centre_mm; /* that the jaw as a whole turns about */
} hf_arch;

/* One root: an elliptic body r(z) = R (1 - z/L)^exponent below the crest. */
typedef struct hf_root {
    double length_mm;      /* crest (in health) to apex */
    double mesiodistal_mm; /* full width at the crest */
    double buccolingual_mm;
    double exponent;   /* 0.5 paraboloid … 1 cone */
    hf_vec3 offset_mm; /* mesial, buccal, coronal from the tooth's crest centre */
} hf_root;

#define HF_ROOTS_MAX 4

typedef struct hf_ligament {
    double thickness_mm;
    double normal_modulus_mpa; /* M: confined modulus across the ligament */
    double shear_modulus_mpa;  /* G */
} hf_ligament;

typedef struct hf_tooth_in {
    int tooth;            /* ISO 3950 number, permanent teeth 11…48 */
    hf_vec3 crest_mm;     /* centre of the root at the crest in health */
    hf_vec3 root_axis;    /* from crest towards apex, any length > 0 */
    hf_vec3 mesial_axis;  /* any length > 0, not parallel to root_axis */
    double bone_loss_mm;  /* recorded loss of crest height */
    const hf_root *roots; /* overrides the morphology table */
    size_t root_count;
    hf_ligament ligament; /* each member may be left out */
} hf_tooth_in;

typedef enum hf_section_kind {
    HF_SECTION_NONE,
    HF_SECTION_ROUND,
    HF_SECTION_RECTANGLE,
    HF_SECTION_WIRE
} hf_section_kind;

typedef struct hf_section_in {
    hf_section_kind kind;
    double round_mm;
    double rectangle_mm[2]; /* width, thickness */
    double wire_in[2];      /* thickness, width in inch */
} hf_section_in;

/* A named material of the table in material.h, or numbers. */
typedef struct hf_material_in {
    const char *name;
    double modulus_mpa, poisson, yield_mpa;
} hf_material_in;

typedef enum hf_attachment {
    HF_AT_BRACKET,     /* centre of the buccal crown face; what is meant when left out */
    HF_AT_PALATAL,     /* centre of the lingual or palatal crown face */
    HF_AT_BUCCAL_TUBE, /* as bracket, on molars */
    HF_AT_CREST,
    HF_AT_COUNT
} hf_attachment;

typedef struct hf_segment_in {
    const char *name;
    const int *teeth;
    size_t tooth_count;
    bool wired;            /* false: rigid */
    hf_attachment wire_at; /* where on each tooth the wire runs; not the crest */
    hf_section_in wire_section;
    hf_material_in wire_material;
} hf_segment_in;

typedef enum hf_mucosa { HF_MUCOSA_ABSENT, HF_MUCOSA_ATTACHED, HF_MUCOSA_MOVABLE, HF_MUCOSA_COUNT } hf_mucosa;

typedef struct hf_screw_in {
    const char *name;
    const char *site;        /* key of the site table, or of `sites` below */
    hf_point entry;          /* where the axis meets the bone surface */
    hf_vec3 axis;            /* tip to head; or: */
    bool axis_perpendicular; /* … perpendicular to the surface at `entry` */
    double tilt_deg;         /* leans a perpendicular axis towards anterior (+) */
    double diameter_mm, core_mm, length_mm, thread_pitch_mm; /* length: the part in bone */
    double tissue_mm, stand_off_mm;                          /* mucosa under the head; head above mucosa */
    double cortex_mm, cortex_modulus_mpa, cancellous_modulus_mpa;
    double modulus_mpa, poisson; /* of the screw */
    double interface_factor;     /* on the bone part of every compliance: 1 = bonded */
    int placed_on;               /* days since 1970-01-01 */
    double insertion_torque_ncm;
    double root_distance_mm;
    hf_mucosa mucosa;
    int mobility_grade;                       /* 0…3 as seen; HF_ABSENT = not looked at */
    int inflammation_grade;                   /* 0…3 */
    double percussion_score, resonance_score; /* as measured at the date; scores of devices have no unit */
    double resonance_at_placement;
    int predrilled;      /* 0, 1 or HF_ABSENT */
    int placed_by_count; /* screws this operator had placed before */
} hf_screw_in;

typedef struct hf_node_in {
    const char *name;
    hf_point at;
    double tissue_gap_mm;
} hf_node_in;

typedef struct hf_bar_in {
    const char *from, *to; /* node names */
    hf_section_in section;
    hf_vec3 normal;          /* direction of the thickness */
    hf_material_in material; /* left out: the plate's */
} hf_bar_in;

typedef struct hf_seat_in {
    const char *node, *screw;
} hf_seat_in;

typedef enum hf_fitting_kind {
    HF_FITTING_HOOK,
    HF_FITTING_EYELET,
    HF_FITTING_TUBE,
    HF_FITTING_COUNT
} hf_fitting_kind;

typedef struct hf_fitting_in {
    const char *node;
    hf_fitting_kind kind;
    hf_vec3 axis; /* of a tube */
    double slot_in[2];
} hf_fitting_in;

typedef struct hf_plate_in {
    const char *name, *purpose;
    hf_material_in material;
    const hf_node_in *nodes;
    size_t node_count;
    const hf_bar_in *bars;
    size_t bar_count;
    const hf_seat_in *seats;
    size_t seat_count;
    const hf_fitting_in *fittings;
    size_t fitting_count;
} hf_plate_in;

typedef enum hf_element_kind {
    HF_ELEMENT_CHAIN,
    HF_ELEMENT_CLOSED_COIL,
    HF_ELEMENT_OPEN_COIL,
    HF_ELEMENT_ELASTIC,
    HF_ELEMENT_EXTRAORAL_ELASTIC,
    HF_ELEMENT_CANTILEVER,
    HF_ELEMENT_TIE,
    HF_ELEMENT_APPLIED,
    HF_ELEMENT_RIGID_BAR,
    HF_ELEMENT_COUNT
} hf_element_kind;

typedef enum hf_end_kind {
    HF_END_NONE,
    HF_END_FITTING,
    HF_END_TOOTH,
    HF_END_SEGMENT,
    HF_END_FIXED
} hf_end_kind;

typedef struct hf_end_in {
    hf_end_kind kind;
    const char *fitting; /* node name that carries a fitting; unique over all plates */
    int tooth;
    hf_attachment at;
    hf_vec3 offset_mm; /* from the attachment, global axes */
    const char *segment;
    hf_point at_mm; /* point on the segment */
    hf_point fixed_mm;
    const char *label;
} hf_end_in;

/* What a product's data say of its force; core/supply.h has the laws. Lengths between the ends of the
 * element. */
typedef struct hf_supply_in {
    double rest_length_mm;                        /* chain, coils: unstretched (open coil: uncompressed) */
    double extension_mm;                          /* beyond rest; left out = from the distance of the ends */
    double force_at_double_n;                     /* chain: stretched to twice its length */
    double stretch_power;                         /* chain */
    double rate_n_per_mm;                         /* superelastic coil: first slope … */
    double loading_n, unloading_n, tail_n_per_mm; /* … and its two plateaus with their slope */
    double most_extension_mm;                     /* largest since placement; left out = that of the date */
    double wire_mm, turns;                        /* linear coil by its wire */
    double lumen_mm;                              /* linear coil, elastic: inner diameter */
    double label_force_n;                         /* elastic: at three lumens */
} hf_supply_in;

typedef struct hf_element_in {
    const char *name;
    hf_element_kind kind;
    hf_end_in from, to;     /* `applied` has exactly one of them */
    double force_n;         /* measured when activated; not for applied and rigid-bar */
    double reading_after_s; /* … so long after stretching; left out = the force at once */
    hf_supply_in supply;    /* instead of a measured force */
    /* cantilever: from a tube; force or activation */
    hf_section_in wire_section;
    hf_material_in wire_material;
    int edgewise; /* 1: a rectangular wire deflects along its width; left out = no */
    double length_mm, helix_mm, activation_mm;
    hf_vec3 pull;            /* way it pulls `to`, any length; left out = towards the tube's axis */
    hf_vec3 applied_force_n; /* applied only, global axes */
    hf_vec3 applied_moment_nmm;
    int activated_on;     /* days since 1970-01-01; left out = the case's date */
    const char *product;  /* decay class, see element.h; left out = default of the kind */
    double remaining_28d; /* measured share of force left after 28 days (chain) */
    int renewed_daily;    /* elastics: 1 (default), 0 */
    double hours_per_day; /* worn */
} hf_element_in;

typedef struct hf_patient_in {
    double age_years, cigarettes_per_day;
} hf_patient_in;

/* A site of the clinic's own, or its override of a published one (same key). */
typedef struct hf_site_in {
    const char *key;
    hf_jaw jaw;
    double loss_low, loss_mid, loss_high; /* share lost, 0…1 */
    double cortex_mm, cancellous_modulus_mpa;
    double torque_low_ncm, torque_high_ncm;
    const char *source;
    /* The clinic's own screws there: pooled with the loss above. own_treatments: what the placed ones add up
     * to, a lost screw one whole treatment, one in place the share of the danger it has stood; left out =
     * own_placed. */
    int own_placed, own_lost;
    double own_treatments;
} hf_site_in;

/* How many draws of the uncertain inputs to tell ranges by (HF_ABSENT: none), and which. */
typedef struct hf_uncertainty_in {
    int samples, seed; /* seed left out = 1 */
} hf_uncertainty_in;

typedef struct hf_case {
    int on; /* date of the evaluation, days since 1970-01-01 */
    hf_arch arches[HF_JAW_COUNT];
    const hf_tooth_in *teeth;
    size_t tooth_count;
    const hf_segment_in *segments;
    size_t segment_count;
    const hf_site_in *sites;
    size_t site_count;
    const hf_screw_in *screws;
    size_t screw_count;
    const hf_plate_in *plates;
    size_t plate_count;
    const hf_element_in *elements;
    size_t element_count;
    hf_patient_in patient;
    hf_uncertainty_in uncertainty;
    int horizon_days; /* stability is told for this many days; HF_ABSENT = 42 */
} hf_case;

hf_case hf_case_default(void);
hf_point hf_point_default(void);
hf_tooth_in hf_tooth_default(void);
hf_root hf_root_default(void);
hf_segment_in hf_segment_default(void);
hf_site_in hf_site_default(void);
hf_screw_in hf_screw_default(void);
hf_plate_in hf_plate_default(void);
hf_node_in hf_node_default(void);
hf_bar_in hf_bar_default(void);
hf_fitting_in hf_fitting_default(void);
hf_element_in hf_element_default(void);

#endif
