#include "supply.h"

#include <math.h>

#include "evidence.h"

double hf_chain_force(double force_at_double_n, double power, double stretch) {
    return stretch > 0.0 ? force_at_double_n * pow(stretch, power) : 0.0;
}

static double line(const hf_superelastic *coil, double plateau_n, double extension_mm) {
    double steep = coil->rate_n_per_mm * fmax(extension_mm, 0.0);
    double flat = plateau_n + coil->tail_n_per_mm * (extension_mm - plateau_n / coil->rate_n_per_mm);
    return fmin(steep, flat);
}

double hf_superelastic_loading(const hf_superelastic *coil, double extension_mm) {
    return line(coil, coil->loading_n, extension_mm);
}

double hf_superelastic_unloading(const hf_superelastic *coil, double extension_mm) {
    return line(coil, coil->unloading_n, extension_mm);
}

double hf_superelastic_move(const hf_superelastic *coil, double force_n, double from_mm, double to_mm) {
    double steep = force_n + coil->rate_n_per_mm * (to_mm - from_mm);
    return fmin(fmax(steep, hf_superelastic_unloading(coil, to_mm)), hf_superelastic_loading(coil, to_mm));
}

double hf_elastic_force(double label_force_n, double lumen_mm, double extension_mm) {
    return label_force_n * fmax(extension_mm, 0.0) / ((HF_EV(ELASTIC_LABEL_LUMENS) - 1.0) * lumen_mm);
}
