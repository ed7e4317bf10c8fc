#include "element.h"

#include <string.h>

#include "evidence.h"

#define KEYS(...) ((const char *const[]){__VA_ARGS__, NULL})

typedef struct decay_class {
    hf_element_kind kind;
    const char *product;
    double (*law)(double constant, double hours);
    hf_ev constant; /* the law's first number: what tells this class from the others */
    const char *const *basis;
} decay_class;

/* `constant`: share left after 28 days. */
static double chain_law(double constant, double hours) {
    double t0 = HF_EV(CHAIN_TIME_SCALE);
    double n = -log(constant) / log1p(28.0 * 24.0 / t0);
    return exp(-n * log1p(hours / t0));
}

/* `constant`: share left after 28 days. What follows falls in proportion. */
static double superelastic_law(double constant, double hours) {
    double spans = hours / (28.0 * 24.0), last = constant * HF_EV(COIL_56D) / HF_EV(COIL_28D);
    if (spans <= 1.0) return 1.0 + (constant - 1.0) * spans;
    return constant + (last - constant) * fmin(spans - 1.0, 1.0);
}

static double steel_law(double constant, double hours) {
    (void)hours;
    return constant;
}

static double log_law(double slope, double tau, double hours) {
    return 1.0 - slope * log1p(fmin(hours, HF_EV(ELASTIC_LAST)) / tau);
}

/* `constant`: slope. */
static double non_latex_law(double constant, double hours) {
    return log_law(constant, HF_EV(NON_LATEX_TIME), hours);
}

/* `constant`: slope. */
static double latex_bench_law(double constant, double hours) {
    return log_law(constant, HF_EV(LATEX_BENCH_TIME), hours);
}

/* `constant`: half-life. In the mouth latex falls as fast as non-latex on the bench, so that slope serves. */
static double latex_mouth_law(double constant, double hours) {
    double slope = HF_EV(NON_LATEX_SLOPE);
    return log_law(slope, constant / expm1(0.5 / slope), hours);
}

/* The first row of a kind is its default. Elastics outside the mouth are of the same rubber, open coils of
 * the same wire as closed ones. */
static const decay_class classes[] = {
    {HF_ELEMENT_CHAIN, "standard", chain_law, HF_EV_CHAIN_STANDARD,
        KEYS("chain-time-scale", "chain-remaining-standard")},
    {HF_ELEMENT_CHAIN, "conventional", chain_law, HF_EV_CHAIN_CONVENTIONAL,
        KEYS("chain-time-scale", "chain-remaining-conventional")},
    {HF_ELEMENT_CHAIN, "memory", chain_law, HF_EV_CHAIN_MEMORY,
        KEYS("chain-time-scale", "chain-remaining-memory")},
    {HF_ELEMENT_CLOSED_COIL, "superelastic", superelastic_law, HF_EV_COIL_28D,
        KEYS("coil-remaining-28d", "coil-remaining-56d")},
    {HF_ELEMENT_CLOSED_COIL, "steel", steel_law, HF_EV_COIL_STEEL, KEYS("coil-remaining-steel")},
    {HF_ELEMENT_ELASTIC, "latex", latex_mouth_law, HF_EV_LATEX_MOUTH_HALF,
        KEYS("elastic-latex-mouth-half", "elastic-non-latex-slope", "elastic-last")},
    {HF_ELEMENT_ELASTIC, "latex-bench", latex_bench_law, HF_EV_LATEX_BENCH_SLOPE,
        KEYS("elastic-latex-bench-slope", "elastic-latex-bench-time", "elastic-last")},
    {HF_ELEMENT_ELASTIC, "non-latex", non_latex_law, HF_EV_NON_LATEX_SLOPE,
        KEYS("elastic-non-latex-slope", "elastic-non-latex-time", "elastic-last")},
};

static const char *const no_keys[] = {NULL};

const hf_element_trait hf_element_traits[HF_ELEMENT_COUNT] = {
    [HF_ELEMENT_CHAIN] = {"chain", true, true, KEYS("standard", "conventional", "memory")},
    [HF_ELEMENT_CLOSED_COIL] = {"closed-coil", true, true, KEYS("superelastic", "steel")},
    [HF_ELEMENT_OPEN_COIL] = {"open-coil", true, true, KEYS("superelastic", "steel")},
    [HF_ELEMENT_ELASTIC] = {"elastic", true, true, KEYS("latex", "latex-bench", "non-latex")},
    [HF_ELEMENT_EXTRAORAL_ELASTIC] = {"extraoral-elastic", true, true,
        KEYS("latex", "latex-bench", "non-latex")},
    [HF_ELEMENT_CANTILEVER] = {"cantilever", true, false, no_keys},
    [HF_ELEMENT_TIE] = {"tie", true, false, no_keys},
    [HF_ELEMENT_APPLIED] = {"applied", false, false, no_keys},
    [HF_ELEMENT_RIGID_BAR] = {"rigid-bar", false, false, no_keys},
};

static const char *const product_words[HF_ELEMENT_COUNT] = {
    [HF_ELEMENT_CHAIN] = "standard, conventional, memory",
    [HF_ELEMENT_CLOSED_COIL] = "superelastic, steel",
    [HF_ELEMENT_OPEN_COIL] = "superelastic, steel",
    [HF_ELEMENT_ELASTIC] = "latex, latex-bench, non-latex",
    [HF_ELEMENT_EXTRAORAL_ELASTIC] = "latex, latex-bench, non-latex",
    [HF_ELEMENT_CANTILEVER] = "none",
    [HF_ELEMENT_TIE] = "none",
    [HF_ELEMENT_APPLIED] = "none",
    [HF_ELEMENT_RIGID_BAR] = "none",
};

static bool is_elastic(hf_element_kind kind) {
    return kind == HF_ELEMENT_ELASTIC || kind == HF_ELEMENT_EXTRAORAL_ELASTIC;
}

/* NULL for a kind that does not decay. A product that is no class of the kind gets the default. */
static const decay_class *class_of(hf_element_kind kind, const char *product) {
    const decay_class *first = NULL;
    if (is_elastic(kind)) kind = HF_ELEMENT_ELASTIC;
    if (kind == HF_ELEMENT_OPEN_COIL) kind = HF_ELEMENT_CLOSED_COIL;
    for (size_t i = 0; i < sizeof classes / sizeof *classes; i++) {
        if (classes[i].kind != kind) continue;
        if (product && strcmp(classes[i].product, product) == 0) return &classes[i];
        if (!first) first = &classes[i];
    }
    return first;
}

/* A coil told by its wire is a linear one. */
static const decay_class *class_of_element(const hf_element_in *element) {
    bool by_wire = !element->product && !isnan(element->supply.wire_mm);
    return class_of(element->kind, by_wire ? "steel" : element->product);
}

/* Of a chain whose own share was measured; NAN otherwise. */
static double own_share(const hf_element_in *element) {
    double own = element->remaining_28d;
    return element->kind == HF_ELEMENT_CHAIN && own > 0.0 && own <= 1.0 ? own : (double)NAN;
}

static bool is_renewed(const hf_element_in *element) {
    return is_elastic(element->kind) && element->renewed_daily != 0; /* left out = renewed */
}

static double share_at(const decay_class *decay, double constant, double hours) {
    return hours > 0.0 ? decay->law(constant, hours) : 1.0;
}

static double share(const decay_class *decay, const hf_element_in *element, double hours) {
    double own = own_share(element);
    return share_at(decay, isnan(own) ? hf_evidence_table[decay->constant].value : own, hours);
}

double hf_element_retained(const hf_element_in *element, double days, const char *const **basis) {
    static const char *const renewed_basis[] = {"elastic-renewed", NULL};
    static const char *const measured_basis[] = {"chain-time-scale", NULL};
    const decay_class *decay = class_of_element(element);
    *basis = no_keys;
    if (!decay) return 1.0;
    if (is_renewed(element)) {
        *basis = renewed_basis;
        return HF_EV(ELASTIC_RENEWED);
    }
    *basis = isnan(own_share(element)) ? decay->basis : measured_basis;
    return share(decay, element, days * 24.0);
}

hf_range hf_element_retained_range(const hf_element_in *element, double days) {
    const decay_class *decay = class_of_element(element);
    if (!decay) return (hf_range){1.0, 1.0, 1.0};
    if (is_renewed(element)) {
        const hf_evidence *fresh = &hf_evidence_table[HF_EV_ELASTIC_RENEWED];
        return (hf_range){fresh->low, fresh->value, fresh->high};
    }
    double hours = days * 24.0, mid = share(decay, element, hours);
    if (!isnan(own_share(element))) return (hf_range){mid, mid, mid};
    const hf_evidence *constant = &hf_evidence_table[decay->constant];
    double one = share_at(decay, constant->low, hours), other = share_at(decay, constant->high, hours);
    return (hf_range){fmin(one, other), mid, fmax(one, other)};
}

double hf_element_retained_after(const hf_element_in *element, double seconds) {
    const decay_class *decay = class_of_element(element);
    return decay ? share(decay, element, seconds / 3600.0) : 1.0;
}

const char *hf_element_product_error(hf_element_kind kind, const char *product) {
    if (!product) return NULL;
    for (const char *const *known = hf_element_traits[kind].products; *known; known++) {
        if (strcmp(*known, product) == 0) return NULL;
    }
    return product_words[kind];
}
