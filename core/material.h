/* Named materials of plates, arms and wires; a case may give numbers instead. */
#ifndef HF_MATERIAL_H
#define HF_MATERIAL_H

#include "case.h"

typedef struct hf_material {
    const char *name;
    double modulus_mpa, poisson, yield_mpa;
    const char *source; /* evidence or citation key; NULL for the caller's own numbers */
} hf_material;

extern const hf_material hf_materials[];
extern const size_t hf_material_count;

/* NULL when unknown. */
const hf_material *hf_material_find(const char *name);

#endif
