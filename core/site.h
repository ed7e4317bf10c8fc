/* Anatomical sites for screws: published loss, bone, torque window. A clinic's own rows come with the case.
 */
#ifndef HF_SITE_H
#define HF_SITE_H

#include "answer.h"
#include "case.h"
#include "survival.h"

typedef struct hf_site {
    const char *key, *name;
    hf_jaw jaw;
    hf_range loss; /* share lost; the 95 % interval */
    double cortex_mm, cortex_modulus_mpa, cancellous_modulus_mpa;
    double tissue_mm;          /* usual mucosa */
    const char *density_class; /* "D2" */
    hf_mucosa mucosa;          /* usual */
    const char *torque_group;  /* "interproximal-maxilla", "midpalatal"; NULL = no published window */
    /* The clinic's own window; NAN = the published one of the group. */
    double torque_low_ncm, torque_high_ncm;
    /* Of the loss and the rest: evidence keys, or the clinic's own words. */
    const char *source, *cortex_source, *tissue_source, *torque_source;
    /* With the clinic's own screws `loss` is pooled (survival.h) from this and what became of them. */
    bool has_own;
    hf_range loss_before_own;
    hf_own_losses own;
    int own_placed;
} hf_site;

extern const hf_site hf_sites[];
extern const size_t hf_site_count;

/* Not in the count: stands in for a site that the table does not know. */
extern const hf_site *const hf_site_general;

const hf_site *hf_site_find(const char *key);
/* The published site with the case's own row of the same key laid over it, or the case's own site; what that
 * leaves out is the published or the general figure. False when neither knows the key. */
bool hf_site_resolve(const hf_case *in, const char *key, hf_site *out);

/* Insertion-torque window (N cm) by site and diameter; false when no published window covers both. */
bool hf_site_torque_window(
    const hf_site *site, double diameter_mm, double *low_ncm, double *high_ncm, const char **source);
hf_window hf_torque_class(double torque_ncm, double low_ncm, double high_ncm);

#endif
