#include "survival.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "case.h"
#include "evidence.h"
#include "limits.h"
#include "odds.h"

static const double two_sided_95 = 1.959963984540054; /* standard normal quantile of 0.975 */

/* ---------------------------------------------------------------- product limit */

static int by_days(const void *a, const void *b) {
    const hf_followed *one = a, *other = b;
    return (one->days > other->days) - (one->days < other->days);
}

/* In rising order, each day once, none without screws. */
static hf_followed *merged(const hf_followed *rows, size_t count, hf_arena *arena, size_t *merged_count) {
    hf_followed *sorted = HF_NEW_ARRAY(arena, hf_followed, count);
    if (count > 0) memcpy(sorted, rows, count * sizeof *rows);
    qsort(sorted, count, sizeof *sorted, by_days);
    size_t n = 0;
    for (size_t i = 0; i < count; i++) {
        hf_followed row = sorted[i];
        if (row.lost + row.kept == 0) continue;
        if (n > 0 && sorted[n - 1].days == row.days) {
            sorted[n - 1].lost += row.lost;
            sorted[n - 1].kept += row.kept;
        } else {
            sorted[n++] = row;
        }
    }
    *merged_count = n;
    return sorted;
}

int hf_survival_at_risk(const hf_survival *told, int days) {
    int count = 0;
    for (size_t i = told->followed_count; i-- > 0 && told->followed[i].days >= days;)
        count += told->followed[i].lost + told->followed[i].kept;
    return count;
}

/* Kaplan & Meier 1958; variance by Greenwood; the interval of log(-log S) stays within 0 and 1. `hazard` is
 * the sum over the days so far of lost / (at risk (at risk - lost)). */
static hf_survival_step step_of(int days, int at_risk, int lost, double survival, double hazard) {
    hf_survival_step step = {days, at_risk, lost, survival, NAN, NAN, NAN};
    if (survival <= 0.0) return step;
    double reach = two_sided_95 * sqrt(hazard) / log(survival), centre = log(-log(survival));
    step.standard_error = survival * sqrt(hazard);
    step.low = exp(-exp(centre - reach));
    step.high = exp(-exp(centre + reach));
    return step;
}

typedef double (*curve)(const hf_survival_step *step);

static double survival_of(const hf_survival_step *step) {
    return step->survival;
}
static double low_of(const hf_survival_step *step) {
    return step->low;
}
static double high_of(const hf_survival_step *step) {
    return step->high;
}

/* First day on which the curve is at a half or below. When it stays at exactly a half for a while, the middle
 * of that while, as is usual for a median. */
static double half_time(const hf_survival *told, curve of) {
    static const double tolerance = 1.5e-8; /* what the product's rounding may take from an exact half */
    for (size_t i = 0; i < told->step_count; i++) {
        double share = of(&told->steps[i]);
        if (!(share < 0.5 + tolerance)) continue;
        bool stays = fabs(share - 0.5) < tolerance && i + 1 < told->step_count;
        return 0.5 * (told->steps[i].days + (double)told->steps[stays ? i + 1 : i].days);
    }
    return NAN;
}

hf_survival hf_survival_estimate(const hf_followed *rows, size_t count, hf_arena *arena) {
    hf_survival out = {.last_days = HF_ABSENT, .steps = HF_NEW_ARRAY(arena, hf_survival_step, count)};
    out.followed = merged(rows, count, arena, &out.followed_count);
    for (size_t i = 0; i < out.followed_count; i++) {
        out.screws += out.followed[i].lost + out.followed[i].kept;
        out.lost += out.followed[i].lost;
        out.last_days = out.followed[i].days;
    }
    int at_risk = out.screws;
    double survival = 1.0, hazard = 0.0;
    for (size_t i = 0; i < out.followed_count; i++) {
        const hf_followed *day = &out.followed[i];
        if (day->lost > 0) {
            double n = at_risk, d = day->lost;
            survival *= (n - d) / n;
            hazard += d / (n * (n - d));
            out.steps[out.step_count++] = step_of(day->days, at_risk, day->lost, survival, hazard);
        }
        at_risk -= day->lost + day->kept;
    }
    out.median_days =
        (hf_range){half_time(&out, low_of), half_time(&out, survival_of), half_time(&out, high_of)};
    return out;
}

/* ---------------------------------------------------------------- own outcomes against the published */

hf_own_losses hf_survival_own(const hf_followed *rows, size_t count) {
    hf_own_losses own = {0.0, 0.0};
    for (size_t i = 0; i < count; i++) {
        double stood = pow(fmax(rows[i].days, 0.0) / HF_EV(LOSS_SPAN), HF_EV(LOSS_SHAPE));
        own.lost += rows[i].lost;
        own.treatments += rows[i].lost + rows[i].kept * fmin(stood, 1.0);
    }
    return own;
}

/* The posterior of the log-odds x, up to a factor: exp(-(x - mean)^2 / (2 sd^2)) e^(lost x) / (1 +
 * e^x)^treatments. Its logarithm is concave with a curvature of at least 1 / sd^2. */
typedef struct posterior {
    double mean, sd;
    hf_own_losses own;
    double mode, peak; /* peak: logarithm of the density at the mode */
} posterior;

static double slope(const posterior *p, double x) {
    return -(x - p->mean) / (p->sd * p->sd) + p->own.lost - p->own.treatments * hf_expit(x);
}

static double log_density(const posterior *p, double x) {
    double from_mean = (x - p->mean) / p->sd;
    double log_odds_plus_one = x > 0.0 ? x + log1p(exp(-x)) : log1p(exp(x));
    return -0.5 * from_mean * from_mean + p->own.lost * x - p->own.treatments * log_odds_plus_one;
}

static double density(const posterior *p, double x) {
    return exp(log_density(p, x) - p->peak);
}

/* The slope falls by at least 1 / sd^2 a unit: the mode lies between the prior's mean and where that alone
 * would bring the slope there to zero. */
static void find_mode(posterior *p) {
    enum { halvings = 60 };
    double at_mean = slope(p, p->mean), reach = p->sd * p->sd * at_mean;
    double low = p->mean + fmin(reach, 0.0), high = p->mean + fmax(reach, 0.0);
    for (int i = 0; i < halvings; i++) {
        double middle = 0.5 * (low + high);
        if (slope(p, middle) > 0.0)
            low = middle;
        else
            high = middle;
    }
    p->mode = 0.5 * (low + high);
    p->peak = log_density(p, p->mode);
}

/* How far from the mode the density is nothing (e^-36). `side` is 1 or -1. */
static double reach_of(const posterior *p, double side) {
    double share = hf_expit(p->mode);
    double width = 1.0 / sqrt(1.0 / (p->sd * p->sd) + p->own.treatments * share * (1.0 - share));
    double reach = 8.0 * width;
    while (log_density(p, p->mode + side * reach) > p->peak - 36.0)
        reach *= 1.25;
    return reach;
}

/* Between two near points, by the trapezoid rule with its first correction (Euler & Maclaurin). */
static double mass(const posterior *p, double from, double to) {
    double h = to - from, f0 = density(p, from), f1 = density(p, to);
    return 0.5 * h * (f0 + f1) + h * h / 12.0 * (f0 * slope(p, from) - f1 * slope(p, to));
}

static double quantile(
    const posterior *p, double from, double step, const double *below, size_t steps, double share) {
    enum { halvings = 50 };
    double wanted = share * below[steps];
    size_t i = 0;
    while (below[i + 1] < wanted) /* the last is the whole, and more than any share of it */
        i++;
    double start = from + step * (double)i, low = start, high = start + step;
    for (int k = 0; k < halvings; k++) {
        double middle = 0.5 * (low + high);
        if (below[i] + mass(p, start, middle) < wanted)
            low = middle;
        else
            high = middle;
    }
    return hf_expit(0.5 * (low + high));
}

static hf_range posterior_range(posterior *p) {
    enum { steps = 800 };
    double below[steps + 1] = {0.0};
    find_mode(p);
    double from = p->mode - reach_of(p, -1.0), step = (p->mode + reach_of(p, 1.0) - from) / steps;
    for (size_t i = 0; i < steps; i++)
        below[i + 1] = below[i] + mass(p, from + step * (double)i, from + step * (double)(i + 1));
    return (hf_range){
        quantile(p, from, step, below, steps, 0.025),
        quantile(p, from, step, below, steps, 0.5),
        quantile(p, from, step, below, steps, 0.975),
    };
}

static double logit_within(double share) {
    const hf_limit_range *range = &hf_limits[HF_LIMIT_LOSS];
    return hf_logit(fmin(fmax(share, range->low), range->high));
}

hf_pooled hf_survival_pool(hf_range published, double spread, hf_own_losses own) {
    double told = (logit_within(published.high) - logit_within(published.low)) / (2.0 * two_sided_95);
    posterior p = {.mean = logit_within(published.mid), .sd = hypot(told, spread), .own = own};
    double reach = two_sided_95 * p.sd;
    hf_pooled out;
    out.prior = (hf_range){hf_expit(p.mean - reach), hf_expit(p.mean), hf_expit(p.mean + reach)};
    /* Nothing watched, or a figure that nothing can move. */
    out.result = own.treatments <= 0.0 || p.sd <= 0.0 ? out.prior : posterior_range(&p);
    return out;
}
