/* Force from a product's data: how far chain, coils and elastics are stretched, and what that gives.
 * Extensions in mm beyond rest, below 0 = slack; forces in N when freshly stretched (they fade later:
 * element.h). */
#ifndef HF_SUPPLY_H
#define HF_SUPPLY_H

/* Elastomeric chain: F = F100 stretch^power; `stretch` 1 = to twice its length. Doubling the stretch gives
 * far less than twice the force. */
double hf_chain_force(double force_at_double_n, double power, double stretch);

/* Superelastic coil: stretched along an upper line, let go along a lower one, between the two with the first
 * slope. The force depends on the path. */
typedef struct hf_superelastic {
    double rate_n_per_mm; /* first slope, > 0 */
    double loading_n;     /* where the upper line leaves it */
    double unloading_n;   /* where the lower line does, 0…loading_n */
    double tail_n_per_mm; /* slope of both plateaus, 0…rate */
} hf_superelastic;

double hf_superelastic_loading(const hf_superelastic *coil, double extension_mm);
double hf_superelastic_unloading(const hf_superelastic *coil, double extension_mm);
/* The force after moving straight from a state (force, extension) to another extension. */
double hf_superelastic_move(const hf_superelastic *coil, double force_n, double from_mm, double to_mm);

/* Latex ring: the label's force at three lumens of length (evidence "elastic-label-lumens"), in proportion to
 * the extension. */
double hf_elastic_force(double label_force_n, double lumen_mm, double extension_mm);

#endif
