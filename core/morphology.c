#include "tooth.h"

enum { U1, U2, U3, U4, U5, U6, U7, U8, L1, L2, L3, L4, L5, L6, L7, L8, TOOTH_KINDS };

/* The lines of teeth.def once more, this time as the table (there every number is an evidence row). */
static const hf_morphology morphologies[TOOTH_KINDS] = {
#define HF_EVIDENCE(NAME, key, value, low, high, unit, source, held, what)
#define HF_CITATION(key, text)
#define HF_TOOTH(ID, key, pos, side, count, crown, md, neck_md, bl, held, neck_bl, held_neck, name)          \
    [ID].position = pos, [ID].jaw = HF_##side, [ID].crown_mm = crown, [ID].mesiodistal_mm = md,              \
    [ID].buccolingual_mm = bl, [ID].cervix_mesiodistal_mm = neck_md, [ID].cervix_buccolingual_mm = neck_bl,  \
    [ID].root_count = count,
#define HF_TOOTH_ONE_ROOT(ID, key, pos, side, crown, root, md, neck_md, bl, held, neck_bl, held_neck, name)  \
    HF_TOOTH(ID, key, pos, side, 1, crown, md, neck_md, bl, held, neck_bl, held_neck, name)                  \
    [ID].roots[0] = {root, neck_md, neck_bl, HF_FORM_USUAL, {0.0, 0.0, 0.0}},
#define HF_ROOT(ID, N, key, length, held, md, bl, mesial, buccal, form, name)                                \
    [ID].roots[N] = {length, md, bl, HF_FORM_##form, {mesial, buccal, 0.0}},
#include "evidence/teeth.def"
#undef HF_CITATION
#undef HF_EVIDENCE
};

const hf_morphology *hf_morphology_of(int tooth) {
    if (!hf_tooth_is_permanent(tooth)) return NULL;
    return &morphologies[(hf_tooth_jaw(tooth) == HF_MANDIBLE ? L1 : U1) + tooth % 10 - 1];
}
