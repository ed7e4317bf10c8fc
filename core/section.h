/* Cross-sections of bars. Local axes of a bar: x along it, z = its normal (the thickness), y = z cross x (the
 * width). iz resists bending in the x-y plane (deflection along the width), iy in the x-z plane (along the
 * thickness). */
#ifndef HF_SECTION_H
#define HF_SECTION_H

#include "case.h"

typedef struct hf_section {
    bool round;
    double width_mm, thickness_mm; /* both the diameter when round */
    double area_mm2;
    double iy_mm4, iz_mm4;
    double j_mm4;                    /* exact Saint-Venant constant (series for a rectangle) */
    double shear_y_mm2, shear_z_mm2; /* effective shear areas: 5/6 A, round 6(1+nu)/(7+6nu) A */
    double zy_mm3, zz_mm3;           /* section moduli */
    double torsion_mm3;              /* tau_max = torque / torsion_mm3 */
} hf_section;

/* `poisson` of the material enters the round shear coefficient. Kind NONE is a caller's bug. */
hf_section hf_section_of(const hf_section_in *in, double poisson);

/* Largest von Mises stress (MPa) from the section forces: |N|/A + bending (round: one resultant moment;
 * rectangle: corners) and torsion. Transverse shear stress is left out: it vanishes where bending peaks. */
double hf_section_stress(
    const hf_section *s, double axial_n, double torque_nmm, double my_nmm, double mz_nmm);

#endif
