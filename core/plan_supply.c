#include <stddef.h>
#include <stdint.h>

#include "element.h"
#include "evidence.h"
#include "plan_force.h"
#include "supply.h"
#include "wire.h"

#define KEYS(...) ((const char *const[]){__VA_ARGS__, NULL})

enum {
    REST,
    EXTENSION,
    DOUBLE,
    POWER,
    RATE,
    LOADING,
    UNLOADING,
    TAIL,
    MOST,
    WIRE,
    TURNS,
    LUMEN,
    LABEL,
    MEMBER_COUNT
};

#define MEMBER(name)                                                                                         \
    { #name, offsetof(hf_supply_in, name) }
static const struct {
    const char *name;
    size_t at;
} members[MEMBER_COUNT] = {
    [REST] = MEMBER(rest_length_mm),
    [EXTENSION] = MEMBER(extension_mm),
    [DOUBLE] = MEMBER(force_at_double_n),
    [POWER] = MEMBER(stretch_power),
    [RATE] = MEMBER(rate_n_per_mm),
    [LOADING] = MEMBER(loading_n),
    [UNLOADING] = MEMBER(unloading_n),
    [TAIL] = MEMBER(tail_n_per_mm),
    [MOST] = MEMBER(most_extension_mm),
    [WIRE] = MEMBER(wire_mm),
    [TURNS] = MEMBER(turns),
    [LUMEN] = MEMBER(lumen_mm),
    [LABEL] = MEMBER(label_force_n),
};

/* One element on its way; laws leave force_n NAN when they report a problem. */
typedef struct asked {
    hf_plan *plan;
    size_t e;
    const hf_supply_in *supply;
    double extension_mm;
    hf_force force;
} asked;

typedef struct supply_law {
    const char *what;
    unsigned needs, may;
    int rest; /* member that is the length at rest */
    void (*force)(asked *a);
    hf_ev below, above; /* spread, as shares of the force */
    const char *const *basis;
} supply_law;

static bool is_given(const hf_supply_in *supply, int member) {
    return !isnan(*(const double *)((const char *)supply + members[member].at));
}

static const char *pointer_to(const asked *a, const char *member) {
    return hf_arena_printf(a->plan->arena, "/elements/%zu/supply/%s", a->e, member);
}

static double or_assumed(const asked *a, double given, const char *member, double usual, const char *source) {
    if (!isnan(given)) return given;
    hf_report_assume_real(a->plan->report, pointer_to(a, member), usual, source);
    return usual;
}

/* ---- laws. */

static void chain(asked *a) {
    const hf_supply_in *s = a->supply;
    double stretch = a->extension_mm / s->rest_length_mm;
    double least = HF_EV(CHAIN_STRETCH_LEAST), most = HF_EV(CHAIN_STRETCH_MOST);
    if (stretch > 0.0 && !(stretch >= least && stretch <= most)) {
        hf_report_problem(a->plan->report, pointer_to(a, members[REST].name),
            "the chain is stretched by %.0f %%; its force was studied from %.0f to %.0f %% only: measure it and give "
            "`force_n`",
            100.0 * stretch, 100.0 * least, 100.0 * most);
        return;
    }
    double power = or_assumed(
        a, s->stretch_power, members[POWER].name, HF_EV(CHAIN_STRETCH_POWER), "chain-stretch-power");
    a->force.fresh_n = a->force.peak_n = hf_chain_force(s->force_at_double_n, power, stretch);
}

/* Largest extension since placement; NAN when it was told smaller than that of the date. */
static double most_extension(const asked *a) {
    double most = isnan(a->supply->most_extension_mm) ? a->extension_mm : a->supply->most_extension_mm;
    if (most >= a->extension_mm) return most;
    hf_report_problem(a->plan->report, pointer_to(a, members[MOST].name),
        "is less than the extension at the date, %.2f mm", a->extension_mm);
    return NAN;
}

static void superelastic(asked *a) {
    const hf_supply_in *s = a->supply;
    hf_superelastic coil = {.rate_n_per_mm = s->rate_n_per_mm,
        .loading_n = s->loading_n,
        .unloading_n = s->unloading_n,
        .tail_n_per_mm = or_assumed(a, s->tail_n_per_mm, members[TAIL].name, 0.0, "a level plateau")};
    double most = most_extension(a);
    if (coil.unloading_n > coil.loading_n)
        hf_report_problem(a->plan->report, pointer_to(a, members[UNLOADING].name), "is above `loading_n`");
    if (coil.tail_n_per_mm > coil.rate_n_per_mm)
        hf_report_problem(
            a->plan->report, pointer_to(a, members[TAIL].name), "is above `rate_n_per_mm`: no plateau");
    a->force.peak_n = hf_superelastic_loading(&coil, most);
    a->force.fresh_n = hf_superelastic_move(&coil, a->force.peak_n, most, a->extension_mm);
}

static void helical(asked *a) {
    const hf_supply_in *s = a->supply;
    hf_coil coil = {.wire_mm = s->wire_mm,
        .mean_mm = s->lumen_mm + s->wire_mm,
        .turns = s->turns,
        .shear_modulus_mpa = HF_EV(SPRING_SHEAR_MODULUS)};
    a->force.peak_n = hf_coil_rate(&coil) * fmax(most_extension(a), 0.0);
    a->force.fresh_n = hf_coil_rate(&coil) * fmax(a->extension_mm, 0.0);
}

static void ring(asked *a) {
    const hf_supply_in *s = a->supply;
    double lumens = 1.0 + a->extension_mm / s->lumen_mm;
    double most = hf_evidence_table[HF_EV_ELASTIC_LABEL_LUMENS].high;
    if (lumens > most) {
        hf_report_problem(a->plan->report, pointer_to(a, members[LUMEN].name),
            "the elastic is stretched to %.1f lumens; beyond %.1f its label says nothing: measure the force and give "
            "`force_n`",
            lumens, most);
        return;
    }
    a->force.fresh_n = a->force.peak_n = hf_elastic_force(s->label_force_n, s->lumen_mm, a->extension_mm);
}

#define BIT(member) (1u << (member))

static const supply_law laws[] = {
    {"a chain", BIT(REST) | BIT(DOUBLE), BIT(EXTENSION) | BIT(POWER), REST, chain, HF_EV_CHAIN_FORCE_SPREAD,
        HF_EV_CHAIN_FORCE_SPREAD, KEYS("chain-stretch-power", "chain-force-spread")},
    {"a superelastic coil", BIT(REST) | BIT(RATE) | BIT(LOADING) | BIT(UNLOADING),
        BIT(EXTENSION) | BIT(TAIL) | BIT(MOST), REST, superelastic, HF_EV_COIL_BELOW_LABEL,
        HF_EV_FORCE_MEASURED_SPREAD, KEYS("coil-below-label", "force-measured-spread")},
    {"a coil by its wire", BIT(REST) | BIT(WIRE) | BIT(TURNS) | BIT(LUMEN), BIT(EXTENSION) | BIT(MOST), REST,
        helical, HF_EV_FORCE_MEASURED_SPREAD, HF_EV_FORCE_MEASURED_SPREAD,
        KEYS("spring-shear-modulus", "force-measured-spread")},
    {"an elastic", BIT(LUMEN) | BIT(LABEL), BIT(EXTENSION), LUMEN, ring, HF_EV_ELASTIC_LABEL_SPREAD,
        HF_EV_ELASTIC_LABEL_SPREAD, KEYS("elastic-label-lumens", "elastic-label-spread")},
};
enum { CHAIN_LAW, SUPERELASTIC_LAW, HELICAL_LAW, RING_LAW };

static const supply_law *law_of(const hf_element_in *in) {
    switch (in->kind) {
    case HF_ELEMENT_CHAIN:
        return &laws[CHAIN_LAW];
    case HF_ELEMENT_CLOSED_COIL:
    case HF_ELEMENT_OPEN_COIL:
        return is_given(&in->supply, WIRE) || is_given(&in->supply, TURNS) ? &laws[HELICAL_LAW]
                                                                           : &laws[SUPERELASTIC_LAW];
    case HF_ELEMENT_ELASTIC:
    case HF_ELEMENT_EXTRAORAL_ELASTIC:
        return &laws[RING_LAW];
    default:
        return NULL;
    }
}

static unsigned given_members(const hf_supply_in *supply) {
    unsigned given = 0;
    for (int m = 0; m < MEMBER_COUNT; m++) {
        if (is_given(supply, m)) given |= BIT(m);
    }
    return given;
}

/* What the law takes and what is given must be the same; true when a force can be told. */
static bool check_members(const asked *a, const supply_law *law, unsigned given, bool measured) {
    unsigned needs = law->needs;
    /* Only a chain's stretch is a share of its length. */
    if (given & BIT(EXTENSION) && law != &laws[CHAIN_LAW]) needs &= ~BIT(REST);
    bool complete = true;
    for (int m = 0; m < MEMBER_COUNT; m++) {
        if (given & BIT(m) & ~(law->needs | law->may)) {
            hf_report_problem(
                a->plan->report, pointer_to(a, members[m].name), "says nothing of %s", law->what);
        } else if (needs & BIT(m) & ~given) {
            complete = false;
            if (!measured)
                hf_report_problem(a->plan->report, pointer_to(a, members[m].name),
                    "is needed for the force of %s", law->what);
        }
    }
    return complete;
}

static void report_nothing(hf_plan *plan, size_t e, const supply_law *law) {
    const char *needed = "";
    for (int m = 0; law && m < MEMBER_COUNT; m++) {
        if (law->needs & BIT(m))
            needed = hf_arena_printf(plan->arena, "%s%s `%s`", needed, *needed ? "," : "", members[m].name);
    }
    const char *or_supply = law ? hf_arena_printf(plan->arena, ", or `supply` with%s", needed) : "";
    hf_report_problem(plan->report, hf_arena_printf(plan->arena, "/elements/%zu/force_n", e),
        "nothing tells the force: give what was measured when it was activated%s", or_supply);
}

void hf_plan_check_supply(hf_plan *plan, size_t e) {
    const hf_element_in *in = &plan->in->elements[e];
    if (given_members(&in->supply) && !law_of(in))
        hf_report_problem(plan->report, hf_arena_printf(plan->arena, "/elements/%zu/supply", e),
            "the force of this kind of element does not follow from a product's data");
}

bool hf_plan_supply(hf_plan *plan, size_t e, double distance_mm, hf_force *out) {
    const hf_element_in *in = &plan->in->elements[e];
    asked a = {.plan = plan, .e = e, .supply = &in->supply, .force = {.fresh_n = NAN, .peak_n = NAN}};
    const supply_law *law = law_of(in);
    unsigned given = given_members(a.supply);
    bool measured = !isnan(in->force_n);
    if (!given) {
        if (!measured) report_nothing(plan, e, law);
        return false;
    }
    if (!law || !check_members(&a, law, given, measured) || measured || isnan(distance_mm)) return false;
    double rest = *(const double *)((const char *)a.supply + members[law->rest].at);
    double longer = in->kind == HF_ELEMENT_OPEN_COIL ? rest - distance_mm : distance_mm - rest;
    a.extension_mm = given & BIT(EXTENSION) ? a.supply->extension_mm : longer;
    law->force(&a);
    if (isnan(a.force.fresh_n)) return false;
    a.force.below = hf_evidence_table[law->below].value;
    a.force.above = hf_evidence_table[law->above].value;
    a.force.basis = law->basis;
    *out = a.force;
    return true;
}
