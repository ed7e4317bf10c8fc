#include "site.h"

#include <string.h>

#include "evidence.h"
#include "odds.h"

enum {
#define HF_BONE(CLASS, bone_key, mpa, ...) modulus_##CLASS = mpa,
#include "evidence/sites.def"
};

enum {
#define HF_SITE(SITE, ...) site_##SITE,
#include "evidence/sites.def"
};

/* Every number is also a row of evidence: the keys in `source` and its like name it. */
const hf_site hf_sites[] = {
#define HF_SITE(SITE, site_key, site_name, site_jaw, CLASS, usual_mucosa, group)                             \
    [site_##SITE].key = site_key, [site_##SITE].name = site_name, [site_##SITE].jaw = site_jaw,              \
    [site_##SITE].density_class = #CLASS, [site_##SITE].cortex_modulus_mpa = modulus_CORTEX,                 \
    [site_##SITE].cancellous_modulus_mpa = modulus_##CLASS, [site_##SITE].mucosa = usual_mucosa,             \
    [site_##SITE].torque_group = group, [site_##SITE].torque_low_ncm = NAN,                                  \
    [site_##SITE].torque_high_ncm = NAN,
#define HF_SITE_LOSS(SITE, site_key, usual, least, most, ...)                                                \
    [site_##SITE].loss = {least, usual, most}, [site_##SITE].source = "loss-" site_key,
#define HF_SITE_CORTEX(SITE, site_key, usual, ...)                                                           \
    [site_##SITE].cortex_mm = usual, [site_##SITE].cortex_source = "cortex-" site_key,
#define HF_SITE_TISSUE(SITE, site_key, usual, ...)                                                           \
    [site_##SITE].tissue_mm = usual, [site_##SITE].tissue_source = "tissue-" site_key,
#include "evidence/sites.def"
};

const size_t hf_site_count = site_GENERAL;
const hf_site *const hf_site_general = &hf_sites[site_GENERAL];

static const struct {
    const char *group, *key;
    double diameter_low_mm, diameter_high_mm, low_ncm, high_ncm;
} windows[] = {
#define HF_TORQUE(NAME, key, group, diameter_low, diameter_high, usual, least, most, ...)                    \
    {group, "torque-" key, diameter_low, diameter_high, least, most},
#include "evidence/sites.def"
};

const hf_site *hf_site_find(const char *key) {
    for (size_t i = 0; i < hf_site_count; i++) {
        if (strcmp(hf_sites[i].key, key) == 0) return &hf_sites[i];
    }
    return NULL;
}

/* The end of an interval when only its middle is told: as far away, in log-odds, as it was from the old
 * middle. */
static double moved_end(double end, double from, double to) {
    return hf_expit(hf_logit(end) + hf_logit(to) - hf_logit(from));
}

static void take_own_loss(const hf_site_in *own, hf_site *site) {
    if (isnan(own->loss_mid)) return;
    double mid = own->loss_mid;
    double low = isnan(own->loss_low) ? moved_end(site->loss.low, site->loss.mid, mid) : own->loss_low;
    double high = isnan(own->loss_high) ? moved_end(site->loss.high, site->loss.mid, mid) : own->loss_high;
    site->loss = (hf_range){fmin(low, mid), mid, fmax(high, mid)};
    site->source = own->source ? own->source : "the clinic's own figure";
}

static void pool_own(const hf_site_in *own, hf_site *site) {
    if (own->own_placed == HF_ABSENT || own->own_lost == HF_ABSENT) return;
    double treatments = isnan(own->own_treatments) ? own->own_placed : own->own_treatments;
    site->has_own = true;
    site->own_placed = own->own_placed;
    site->own = (hf_own_losses){treatments, own->own_lost};
    hf_pooled pooled = hf_survival_pool(site->loss, HF_EV(CLINIC_SPREAD), site->own);
    site->loss_before_own = site->loss;
    site->loss = pooled.result;
}

static void take_own(const hf_site_in *own, hf_site *site) {
    const char *source = own->source ? own->source : "the clinic's own figure";
    if (own->jaw != HF_JAW_COUNT) site->jaw = own->jaw;
    if (!isnan(own->cortex_mm)) {
        site->cortex_mm = own->cortex_mm;
        site->cortex_source = source;
    }
    if (!isnan(own->cancellous_modulus_mpa)) site->cancellous_modulus_mpa = own->cancellous_modulus_mpa;
    if (!isnan(own->torque_low_ncm) && !isnan(own->torque_high_ncm)) {
        site->torque_low_ncm = own->torque_low_ncm;
        site->torque_high_ncm = own->torque_high_ncm;
        site->torque_source = source;
    }
    take_own_loss(own, site);
    pool_own(own, site);
}

bool hf_site_resolve(const hf_case *in, const char *key, hf_site *out) {
    const hf_site_in *own = NULL;
    for (size_t i = 0; i < in->site_count && !own; i++) {
        if (strcmp(in->sites[i].key, key) == 0) own = &in->sites[i];
    }
    const hf_site *published = hf_site_find(key);
    if (!published && !own) return false;
    *out = published ? *published : *hf_site_general;
    if (!published) out->key = out->name = own->key;
    if (own) take_own(own, out);
    return true;
}

bool hf_site_torque_window(
    const hf_site *site, double diameter_mm, double *low_ncm, double *high_ncm, const char **source) {
    if (!isnan(site->torque_low_ncm)) {
        *low_ncm = site->torque_low_ncm;
        *high_ncm = site->torque_high_ncm;
        *source = site->torque_source;
        return true;
    }
    const double rounding_mm = 1e-9;
    for (size_t i = 0; site->torque_group && i < sizeof windows / sizeof *windows; i++) {
        if (strcmp(windows[i].group, site->torque_group) != 0) continue;
        if (!(diameter_mm > windows[i].diameter_low_mm - rounding_mm)) continue;
        if (!(diameter_mm < windows[i].diameter_high_mm + rounding_mm)) continue;
        *low_ncm = windows[i].low_ncm;
        *high_ncm = windows[i].high_ncm;
        *source = windows[i].key;
        return true;
    }
    return false;
}

hf_window hf_torque_class(double torque_ncm, double low_ncm, double high_ncm) {
    if (isnan(torque_ncm) || isnan(low_ncm) || isnan(high_ncm)) return HF_WINDOW_UNKNOWN;
    if (torque_ncm < low_ncm) return HF_WINDOW_BELOW;
    return torque_ncm > high_ncm ? HF_WINDOW_ABOVE : HF_WINDOW_INSIDE;
}
