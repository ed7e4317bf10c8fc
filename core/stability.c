#include "stability.h"

#include "evidence.h"
#include "odds.h"

static const double two_sided_95 = 1.959963984540054; /* standard normal quantile of 0.975 */

/* ---- causes: each gives its odds ratio, 1 when it is absent. All but the age are yes or no. */
static double cortex(const hf_stability_input *in) {
    bool thin = !in->cortex_assumed && in->cortex_mm < HF_EV(CORTEX_THIN);
    return thin ? HF_EV(ODDS_CORTEX) : 1.0;
}

static double root(const hf_stability_input *in) {
    return in->screw->root_distance_mm < HF_EV(ROOT_NEAR) ? HF_EV(ODDS_ROOT) : 1.0;
}

static double thin_screw(const hf_stability_input *in) {
    return in->diameter_mm <= HF_EV(SCREW_THIN) ? HF_EV(ODDS_THIN) : 1.0;
}

static double short_screw(const hf_stability_input *in) {
    return in->length_mm < HF_EV(SCREW_SHORT) ? HF_EV(ODDS_SHORT) : 1.0;
}

static double young(const hf_stability_input *in) {
    return in->patient->age_years < HF_EV(AGE_YOUNG) ? HF_EV(ODDS_YOUNG) : 1.0;
}

static double older(const hf_stability_input *in) {
    double years = fmin(in->patient->age_years, HF_EV(AGE_LAST)) - HF_EV(AGE_OLDER);
    return in->patient->age_years > HF_EV(AGE_OLDER) ? pow(HF_EV(HAZARD_AGE), years) : 1.0;
}

static double smoker(const hf_stability_input *in) {
    return in->patient->cigarettes_per_day > HF_EV(SMOKER_HEAVY) ? HF_EV(ODDS_SMOKER) : 1.0;
}

static double movable(const hf_stability_input *in) {
    bool covered = in->screw->mucosa == HF_MUCOSA_MOVABLE && !in->head_clears_tissue;
    return covered ? HF_EV(ODDS_MOVABLE) : 1.0;
}

static double torque_above(const hf_stability_input *in) {
    return in->torque == HF_WINDOW_ABOVE ? HF_EV(ODDS_TORQUE_ABOVE) : 1.0;
}

static double torque_below(const hf_stability_input *in) {
    return in->torque == HF_WINDOW_BELOW ? HF_EV(ODDS_TORQUE_BELOW) : 1.0;
}

static double novice(const hf_stability_input *in) {
    int count = in->screw->placed_by_count;
    return count != HF_ABSENT && count < HF_EV(OPERATOR_NEW) ? HF_EV(ODDS_NOVICE) : 1.0;
}

static double inflamed(const hf_stability_input *in) {
    return in->screw->inflammation_grade >= 1 ? HF_EV(ODDS_INFLAMED) : 1.0;
}

static double mobile_1(const hf_stability_input *in) {
    return in->screw->mobility_grade == 1 ? HF_EV(ODDS_MOBILE_1) : 1.0;
}

static double mobile_2(const hf_stability_input *in) {
    return in->screw->mobility_grade >= 2 ? HF_EV(ODDS_MOBILE_2) : 1.0;
}

static const struct {
    double (*odds_ratio)(const hf_stability_input *in);
    const char *factor, *source;
} factors[] = {
    {cortex, "thin cortex, measured", "odds-thin-cortex"},
    {root, "root near the screw", "odds-root"},
    {thin_screw, "thin screw", "odds-thin-screw"},
    {short_screw, "short screw", "odds-short-screw"},
    {young, "patient under 20", "odds-young"},
    {older, "patient over 30", "hazard-age"},
    {smoker, "heavy smoker", "odds-heavy-smoker"},
    {movable, "movable mucosa over the head", "odds-movable-mucosa"},
    {torque_above, "insertion torque above the window", "odds-torque-above"},
    {torque_below, "insertion torque below the window", "odds-torque-below"},
    {novice, "new operator", "odds-new-operator"},
    {inflamed, "inflammation seen", "odds-inflamed"},
    {mobile_1, "mobility grade 1", "odds-mobility-1"},
    {mobile_2, "mobility grade 2", "odds-mobility-2"},
};

enum { factor_count = sizeof factors / sizeof *factors, cause_room = factor_count + 6 };

static void add_cause(hf_screw_out *out, hf_report *report, hf_cause cause) {
    const hf_evidence *row = hf_evidence_find(cause.source);
    if (row) {
        cause.evidence = row->key;
        cause.held = hf_held_names[row->held];
    }
    cause.source = hf_report_cite(report, cause.source);
    out->causes[out->cause_count++] = cause;
}

static void add_ratio(
    hf_screw_out *out, hf_report *report, const char *factor, double odds_ratio, const char *source) {
    add_cause(out, report,
        (hf_cause){.factor = factor,
            .base_loss = NAN,
            .odds_ratio = odds_ratio,
            .placed = HF_ABSENT,
            .lost = HF_ABSENT,
            .source = source});
}

/* The site's published loss, then what the clinic's own screws make of it. */
static void add_base(
    const hf_site *site, double before_own, double base, hf_report *report, hf_screw_out *out) {
    add_cause(out, report,
        (hf_cause){.factor = hf_arena_printf(report->arena, "site %s", site->key),
            .base_loss = before_own,
            .odds_ratio = NAN,
            .placed = HF_ABSENT,
            .lost = HF_ABSENT,
            .source = site->source});
    if (!site->has_own) return;
    hf_report_cite(report, "clinic-spread");
    add_cause(out, report,
        (hf_cause){.factor = hf_arena_printf(report->arena,
                       "own screws there: %g of %d lost, %.3g whole treatments watched", site->own.lost,
                       site->own_placed, site->own.treatments),
            .base_loss = base,
            .odds_ratio = hf_odds(base) / hf_odds(before_own),
            .placed = site->own_placed,
            .lost = (int)site->own.lost,
            .source = "the clinic's own outcomes"});
}

static double within(double loss) {
    return fmin(fmax(loss, HF_EV(LOSS_FLOOR)), HF_EV(LOSS_CAP));
}

/* Loss over the whole treatment. Each end of the site's interval keeps its distance from the middle in
 * log-odds; the odds ratios widen it, each by a share of its own logarithm, independently. */
static hf_range whole_loss(const hf_stability_input *in, hf_report *report, hf_screw_out *out) {
    const hf_site *site = in->site ? in->site : hf_site_general;
    double least = HF_EV(LOSS_FLOOR), cap = HF_EV(LOSS_CAP);
    double base = within(site->loss.mid);
    double mid = hf_logit(base);
    double down = mid - hf_logit(fmin(fmax(site->loss.low, least), base));
    double up = hf_logit(fmax(fmin(site->loss.high, cap), base)) - mid;
    add_base(site, site->has_own ? within(site->loss_before_own.mid) : base, base, report, out);
    double square = 0.0;
    for (size_t i = 0; i < factor_count; i++) {
        double odds_ratio = factors[i].odds_ratio(in);
        if (odds_ratio <= 1.0) continue;
        mid += log(odds_ratio);
        square += log(odds_ratio) * log(odds_ratio);
        add_ratio(out, report, factors[i].factor, odds_ratio, factors[i].source);
    }
    double spread = two_sided_95 * HF_EV(ODDS_SPREAD) * sqrt(square);
    double uncapped = hf_expit(mid);
    if (uncapped > cap)
        add_ratio(out, report, "most that is told", hf_odds(cap) / hf_odds(uncapped), "loss-cap");
    return (hf_range){
        fmin(hf_expit(mid - hypot(down, spread)), cap),
        fmin(uncapped, cap),
        fmin(hf_expit(mid + hypot(up, spread)), cap),
    };
}

/* ---- time: cumulative hazard H(t) = -ln(1 - whole loss) (t / span)^shape. */
static double clock_of(double days) {
    return pow(days / HF_EV(LOSS_SPAN), HF_EV(LOSS_SHAPE));
}

/* Loss between `from` and `to` days after placement, given that the screw is in place at `from`. */
static double loss_between(double whole, double from, double to) {
    return -expm1(log1p(-whole) * (clock_of(to) - clock_of(from)));
}

static hf_range range_between(hf_range whole, double from, double to) {
    return (hf_range){loss_between(whole.low, from, to), loss_between(whole.mid, from, to),
        loss_between(whole.high, from, to)};
}

/* The loss within the horizon from the whole loss. A screw that moves has not proved itself by staying in: it
 * gets no credit for the days it has stood. */
static void tell_time(const hf_stability_input *in, hf_range whole, hf_report *report, hf_screw_out *out) {
    bool moves = in->screw->mobility_grade >= 1;
    int days = moves || in->days_in_place < 0 ? 0 : in->days_in_place; /* HF_ABSENT is negative */
    double fresh = loss_between(whole.mid, 0.0, in->horizon_days);
    out->loss = range_between(whole, days, (double)days + in->horizon_days);
    add_ratio(out, report, hf_arena_printf(report->arena, "%d days of a treatment", in->horizon_days),
        hf_odds(fresh) / hf_odds(whole.mid), "loss-span");
    if (days == 0 || fresh <= 0.0) return;
    add_ratio(out, report,
        hf_arena_printf(report->arena, "in place for %d days%s", days,
            in->screw->mobility_grade == 0 ? " without mobility" : ""),
        hf_odds(out->loss.mid) / hf_odds(fresh), "loss-shape");
}

/* Mobility grade 3 is failure under way, whatever the horizon. */
static void tell_failing(const hf_stability_input *in, hf_report *report, hf_screw_out *out) {
    if (in->screw->mobility_grade < 3) return;
    const hf_evidence *failing = &hf_evidence_table[HF_EV_LOSS_FAILING];
    double before = out->loss.mid;
    out->loss = (hf_range){
        fmax(out->loss.low, failing->low),
        fmax(out->loss.mid, failing->value),
        fmax(out->loss.high, failing->high),
    };
    add_ratio(
        out, report, "mobility grade 3, failing", hf_odds(out->loss.mid) / hf_odds(before), failing->key);
}

void hf_stability_screw(const hf_stability_input *in, hf_report *report, hf_screw_out *out) {
    out->causes = HF_NEW_ARRAY(report->arena, hf_cause, cause_room);
    out->cause_count = 0;
    hf_range whole = whole_loss(in, report, out);
    tell_time(in, whole, report, out);
    tell_failing(in, report, out);
}

/* ---- several screws of one patient: gamma frailty of mean 1 and variance v on the hazard. With marginal
 * losses p and a = (1 - p)^-v - 1, all of a set stay with probability (1 + sum a)^(-1/v); inclusion and
 * exclusion over the sets gives "all lost". That doubles with each screw, so beyond `joint_most` screws the
 * first of them bound it. */
enum { joint_most = 10 };

typedef double (*member)(const hf_range *range);

static double low_of(const hf_range *range) {
    return range->low;
}
static double mid_of(const hf_range *range) {
    return range->mid;
}
static double high_of(const hf_range *range) {
    return range->high;
}

static double excess_of(double loss) {
    return expm1(-HF_EV(FRAILTY) * log1p(-loss));
}

static double any_lost(const hf_range *loss, size_t count, member of) {
    double sum = 0.0, largest = 0.0;
    for (size_t i = 0; i < count; i++) {
        sum += excess_of(of(&loss[i]));
        largest = fmax(largest, of(&loss[i]));
    }
    return fmax(-expm1(-log1p(sum) / HF_EV(FRAILTY)), largest);
}

static double all_lost(const hf_range *loss, size_t count, member of) {
    double excess[joint_most], independent = 1.0, least = 1.0, all = 0.0;
    size_t used = count < joint_most ? count : joint_most;
    if (count == 0) return 0.0;
    for (size_t i = 0; i < count; i++) {
        if (i < used) excess[i] = excess_of(of(&loss[i]));
        independent *= of(&loss[i]);
        least = fmin(least, of(&loss[i]));
    }
    for (unsigned set = 0; set < 1u << used; set++) {
        double sum = 0.0, sign = 1.0;
        for (size_t i = 0; i < used; i++) {
            if (!(set >> i & 1u)) continue;
            sum += excess[i];
            sign = -sign;
        }
        all += sign * exp(-log1p(sum) / HF_EV(FRAILTY));
    }
    return fmin(fmax(all, independent), least); /* what rounding of the alternating sum may not leave */
}

void hf_stability_plate(const hf_range *loss, size_t count, hf_plate_risk *out) {
    out->any_lost = (hf_range){
        any_lost(loss, count, low_of), any_lost(loss, count, mid_of), any_lost(loss, count, high_of)};
    out->all_lost = (hf_range){
        all_lost(loss, count, low_of), all_lost(loss, count, mid_of), all_lost(loss, count, high_of)};
}
