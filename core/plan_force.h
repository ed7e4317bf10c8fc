/* What an element pulls with, by measurement or by what is known of it. Internal to the plan. */
#ifndef HF_PLAN_FORCE_H
#define HF_PLAN_FORCE_H

#include "plan.h"

/* Reports product data beside a kind whose force does not follow from any. */
void hf_plan_check_supply(hf_plan *plan, size_t e);

/* True: *out is the force by the product's data. False: there are none that count, or a problem was reported;
 * nothing in *out. `distance_mm` of the ends, NAN when one is not known. */
bool hf_plan_supply(hf_plan *plan, size_t e, double distance_mm, hf_force *out);

/* Force, wrenches and bending of a cantilever, straight into the element. */
void hf_plan_cantilever(hf_plan *plan, size_t e, hf_plan_element *out);

#endif
