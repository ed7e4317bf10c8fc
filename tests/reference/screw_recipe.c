/* The closed recipe for one screw, as the core computes it, printed as JSON.
 * screw_recipe core neck cortex cortex_mpa cancellous_mpa length screw_mpa screw_poisson */
#include <stdio.h>
#include <stdlib.h>

#include "../../core/screw.h"

int main(int argc, char **argv) {
    double v[8];
    if (argc != 9) return 2;
    for (int i = 0; i < 8; i++)
        v[i] = strtod(argv[i + 1], NULL);
    hf_screw screw = {.diameter_mm = v[0] / 0.8,
        .core_mm = v[0],
        .neck_mm = v[1],
        .cortex_mm = v[2],
        .cortex_modulus_mpa = v[3],
        .cancellous_modulus_mpa = v[4],
        .length_mm = v[5],
        .modulus_mpa = v[6],
        .poisson = v[7],
        .interface_factor = 1.0};
    hf_screw_compliance c = hf_screw_compliance_of(&screw);
    hf_cortex one = hf_screw_cortex(&screw, (hf_wrench){{1, 0, 0}, {0, 0, 0}});
    const char *outside = hf_screw_outside_range(&screw);
    printf("{\"u_f\": %.12g, \"u_m\": %.12g, \"th_m\": %.12g, \"w_n\": %.12g, \"phi_t\": %.12g, ", c.u_f,
        c.u_m, c.th_m, c.w_n, c.phi_t);
    printf("\"radial\": %.12g, \"von_mises\": %.12g, \"strain\": %.12g, \"outside\": \"%s\"}\n",
        one.radial_mpa, one.von_mises_mpa, one.strain, outside ? outside : "");
    return 0;
}
