/* What delivers force, one row per kind. */
#ifndef HF_ELEMENT_H
#define HF_ELEMENT_H

#include "answer.h"

typedef struct hf_element_trait {
    const char *name; /* "closed-coil" */
    bool pulls;       /* tension along the line from -> to, needs force_n */
    bool decays;
    const char *const *products; /* decay classes, NULL-ended; the first is the default */
} hf_element_trait;

extern const hf_element_trait hf_element_traits[HF_ELEMENT_COUNT];

/* Share of the force left after `days` (>= 0). Monotone falling, in (0, 1], 1 at 0. `product` NULL = default;
 * `remaining_28d` NAN = the class's own. `basis` gets the evidence keys used (NULL-ended, static). */
double hf_element_retained(const hf_element_in *element, double days, const char *const **basis);
/* The same with the spread that was published for the class. */
hf_range hf_element_retained_range(const hf_element_in *element, double days);
/* Share left so long after stretching, of the very piece: also of an elastic that is changed every day. */
double hf_element_retained_after(const hf_element_in *element, double seconds);
/* NULL when the product is a class of this kind (or NULL); otherwise the list of allowed words. */
const char *hf_element_product_error(hf_element_kind kind, const char *product);

#endif
