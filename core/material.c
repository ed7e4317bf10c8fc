#include "material.h"

#include <string.h>

const hf_material hf_materials[] = {
#define HF_MATERIAL(NAME, name, modulus, mlow, mhigh, msource, mheld, poisson, plow, phigh, psource, pheld,  \
    yield, ylow, yhigh, ysource, yheld, what)                                                                \
    {name, modulus, poisson, yield, ysource},
#include "evidence/materials.def"
#undef HF_MATERIAL
};

const size_t hf_material_count = sizeof hf_materials / sizeof *hf_materials;

const hf_material *hf_material_find(const char *name) {
    for (size_t i = 0; i < hf_material_count; i++)
        if (strcmp(hf_materials[i].name, name) == 0) return &hf_materials[i];
    return NULL;
}
