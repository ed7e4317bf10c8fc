/* Where things are when the clinician gives no coordinates: arch form, crown and root inclinations, palatal
 * vault, vestibule. Everything it fills in is reported as assumed. */
#ifndef HF_ARCH_H
#define HF_ARCH_H

#include "case.h"
#include "report.h"
#include "tooth.h"

typedef struct hf_arches {
    hf_arch arch[HF_JAW_COUNT];           /* nothing left out */
    hf_tooth_place place[HF_TOOTH_SLOTS]; /* by hf_tooth_slot(): default place of every permanent tooth,
                                 overridden by the case's teeth */
} hf_arches;

/* Fills defaults and places all teeth of both jaws, with the case's own crest, root and mesial axes where
 * given. Reports what it assumed only for teeth that the case names. Problems: parallel axes, zero length …
 */
void hf_arches_of(const hf_case *in, hf_report *report, hf_arches *out);

/* Coordinates and outward surface normal (unit, out of the bone or away from the tooth) of a told point.
 * `pointer` is where it stands in the input; the coordinates used are reported as assumed unless they were
 * given. False: a problem was reported. `normal` may be NULL; for XYZ it is hf_vec3_absent(). */
bool hf_arches_point(const hf_arches *arches, const hf_point *point, const char *pointer, hf_report *report,
    hf_vec3 *at_mm, hf_vec3 *normal);

#endif
