/* What the uncertain inputs (bone, place and axis of the screws, forces, ligament, interface) make of the
 * answer: the frame is solved for many draws of them, with a fixed seed. Internal.
 *
 * Drawn are: thickness of cortex and mucosa, place and axis of each screw; the moduli of bone by person and
 * place; the interface, evenly in its logarithm between bonded and fresh, screw by screw; each element's
 * force within its range; the ligament's stiffness by person. A modulus, a core or an interface that the case
 * gives is exact. Bone is held within the range that the recipe was calibrated on. */
#ifndef HF_UNCERTAINTY_H
#define HF_UNCERTAINTY_H

#include "assemble.h"

/* Fills samples, seed and the spreads of the answer. Needs its elements, segments and screws. Memory is taken
 * before the draws, none in them. */
void hf_uncertainty_tell(const hf_plan *plan, const hf_assembly *assembly, hf_answer *out);

#endif
