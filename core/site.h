/* Anatomical sites for screws: published loss, bone, torque window. A clinic's own rows come with the case.
 */
#ifndef HF_SITE_H
#define HF_SITE_H

#include "answer.h"
#include "case.h"

typedef struct hf_site {
    const char *key, *name;
    hf_jaw jaw;
    hf_range loss; /* share lost; the 95 % interval */
    double cortex_mm, cortex_modulus_mpa, cancellous_modulus_mpa;
    double tissue_mm;          /* usual mucosa */
    const char *density_class; /* "D2" */
    hf_mucosa mucosa;          /* usual */
    const char *torque_group; /* row group of the torque window: "interproximal-maxilla", "midpalatal", NULL =
                                 unknown */
    const char *source;       /* of the loss */
} hf_site;

extern const hf_site hf_sites[];
extern const size_t hf_site_count;

const hf_site *hf_site_find(const char *key);

/* Insertion-torque window (N cm) by site and diameter; false when no published window covers both. */
bool hf_site_torque_window(
    const hf_site *site, double diameter_mm, double *low_ncm, double *high_ncm, const char **source);
hf_window hf_torque_class(double torque_ncm, double low_ncm, double high_ncm);

#endif
