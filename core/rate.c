#include "rate.h"

#include <math.h>

#include "evidence.h"

static const double two_sided_95 = 1.959963984540054; /* standard normal quantile of 0.975 */

/* The lines of progress.def once more, this time as tables. `force` HF_EV_COUNT: the rate is taken for any
 * force. */
static const struct {
    hf_ev rate, force;
} rows[HF_MOVEMENT_COUNT] = {
#define HF_EVIDENCE(...)
#define HF_CITATION(...)
#define HF_RATE(NAME, ...) {HF_EV_RATE_##NAME, HF_EV_FORCE_##NAME},
#define HF_RATE_ANY_FORCE(NAME, ...) {HF_EV_RATE_##NAME, HF_EV_COUNT},
#include "evidence/progress.def"
};

const char *const hf_movement_names[HF_MOVEMENT_COUNT + 1] = {
#define HF_RATE(NAME, key, ...) key,
#define HF_RATE_ANY_FORCE(NAME, key, ...) key,
#include "evidence/progress.def"
#undef HF_CITATION
#undef HF_EVIDENCE
};

bool hf_movement_turns(hf_movement movement) {
    return hf_evidence_table[rows[movement].rate].unit[0] == 'd'; /* deg/month, not mm/month */
}

/* Share of the fastest movement. */
static double share_of_most(double force_n) {
    return force_n / (force_n + HF_EV(HALF_FORCE));
}

/* The published means spread from low to high (taken for a 95 % interval), and persons about them. */
static double log_sd_of(const hf_evidence *row) {
    return hypot(log(row->high / row->low) / (2.0 * two_sided_95), HF_EV(PERSON_SPREAD));
}

hf_rate hf_rate_expected(hf_movement movement, double canine_force_n) {
    const hf_evidence *row = &hf_evidence_table[rows[movement].rate];
    hf_rate out = {.log_sd = log_sd_of(row), .source = row->key};
    double rate = row->value;
    if (rows[movement].force != HF_EV_COUNT) {
        double published = hf_evidence_table[rows[movement].force].value;
        double force = isnan(canine_force_n) ? published : canine_force_n;
        const hf_evidence *lag = &hf_evidence_table[HF_EV_LAG];
        rate *= share_of_most(force) / share_of_most(published);
        if (force > HF_EV(LAG_FORCE)) {
            out.lag_days = lag->value;
            out.lag_sd_days = (lag->high - lag->low) / (2.0 * two_sided_95);
        }
    }
    double reach = two_sided_95 * out.log_sd;
    out.per_month = (hf_range){rate * exp(-reach), rate, rate * exp(reach)};
    return out;
}
