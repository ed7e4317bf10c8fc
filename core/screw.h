/* One screw in two-layer bone: stiffness at the head, cortex load, capacity. Local axes: z out of the bone
 * (tip to head); a positive moment about z unscrews a right-hand thread. Source of the recipe and of its
 * range: evidence rows "screw-…" (calibrated on solid finite elements; tests/reference reproduces it). */
#ifndef HF_SCREW_H
#define HF_SCREW_H

#include "case.h"
#include "spatial.h"

/* A screw with nothing left out. */
typedef struct hf_screw {
    double diameter_mm, core_mm, length_mm, thread_pitch_mm;
    double neck_mm; /* free length: tissue + stand-off */
    double cortex_mm, cortex_modulus_mpa, cancellous_modulus_mpa;
    double modulus_mpa, poisson;
    double interface_factor;
} hf_screw;

/* Compliances at the head: [shift, turn] per [force, moment] of lateral bending, axial, torsion. */
typedef struct hf_screw_compliance {
    double u_f, u_m, th_m; /* mm/N, 1/N, rad/(N mm) */
    double w_n;            /* mm/N */
    double phi_t;          /* rad/(N mm) */
} hf_screw_compliance;

hf_screw_compliance hf_screw_compliance_of(const hf_screw *screw);
/* Local 6x6 at the head from the compliances. */
hf_mat6 hf_screw_stiffness(const hf_screw_compliance *c);
/* Right-handed axes with z along `axis` (unit). */
hf_axes hf_screw_axes(hf_vec3 axis);

/* Inside the calibrated range? NULL, or words that name the first quantity outside ("core diameter"). */
const char *hf_screw_outside_range(const hf_screw *screw);

typedef struct hf_cortex {
    double radial_mpa, von_mises_mpa, strain; /* strain as a number, not microstrain */
} hf_cortex;

/* From the load on the head in local axes (moment about the head). The axial force (either sign) is added as
 * a bound. For the bonded screw: a looser interface lowers the peak, so the factor does not enter. Axis
 * moment has no part. */
hf_cortex hf_screw_cortex(const hf_screw *screw, hf_wrench head_local);
/* Moment about the bone surface: Mx - a Fy, My + a Fx. */
hf_vec3 hf_screw_moment_at_bone(const hf_screw *screw, hf_wrench head_local);

/* What a load on the head (global axes) comes to. `inside`: the screw is within the calibrated range; if not,
 * the cortex is NAN. */
typedef struct hf_screw_load {
    double axial_n; /* + pulls out */
    double lateral_n, bending_at_bone_nmm;
    double axis_moment_nmm; /* + unscrews */
    hf_cortex cortex;
    double cortex_peak_mpa; /* the larger of the two stresses */
} hf_screw_load;

hf_screw_load hf_screw_load_of(const hf_screw *screw, bool inside, hf_vec3 axis, hf_wrench head);

/* Pull-out force (N), layered: shear strength x engaged length x pi x D x thread shape factor per layer. */
double hf_screw_thread_factor(double major_mm, double minor_mm, double pitch_mm);
double hf_screw_pull_out(const hf_screw *screw);
/* Torque (N mm) that shears the core: elastic pi d^3 tau/16, plastic pi d^3 tau/12. */
double hf_screw_core_torsion(double core_mm, double shear_strength_mpa, bool plastic);
/* Long-term removal torque (N mm) by jaw. */
double hf_screw_removal_torque(hf_jaw jaw);

#endif
