#include "progress.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "evidence.h"
#include "growth.h"
#include "limits.h"
#include "report.h"
#include "tooth.h"

static const char notice[] =
    "Decision support for licensed orthodontic professionals. Rates are means of other people's patients and differ "
    "widely between persons; an estimate assumes that the movement goes on evenly under the same force. It supports "
    "and never replaces the judgement of the licensed clinician in charge.";

static const double two_sided_95 = 1.959963984540054; /* standard normal quantile of 0.975 */
static const hf_range nothing = {NAN, NAN, NAN};

/* ---------------------------------------------------------------- after an intrusion of back teeth */

static hf_range times(hf_ev ratio, double amount) {
    const hf_evidence *row = &hf_evidence_table[ratio];
    return (hf_range){row->low * amount, row->value * amount, row->high * amount};
}

hf_relapse hf_relapse_of(double intrusion_mm) {
    return (hf_relapse){
        .first_year_mm = times(HF_EV_RELAPSE_INTRUSION, HF_EV(RELAPSE_FIRST_YEAR) * intrusion_mm),
        .three_years_mm = times(HF_EV_RELAPSE_INTRUSION, intrusion_mm),
    };
}

hf_autorotation hf_autorotation_of(double intrusion_mm) {
    return (hf_autorotation){
        .overbite_mm = times(HF_EV_FOLLOW_OVERBITE, intrusion_mm),
        .menton_up_mm = times(HF_EV_FOLLOW_MENTON, intrusion_mm),
        .pogonion_forward_mm = times(HF_EV_FOLLOW_POGONION, intrusion_mm),
        .plane_flatter_deg = times(HF_EV_FOLLOW_PLANE, intrusion_mm),
    };
}

/* ---------------------------------------------------------------- one goal */

/* A goal at work. Inside, figures are told towards the goal: times `direction`. */
typedef struct work {
    const hf_course_in *in;
    const hf_goal_in *goal;
    hf_measure measure;
    hf_movement movement;
    double direction; /* 1 or -1 */
    hf_rate rate;
    hf_growth growth;
    hf_range at_last; /* level on the day of the last measurement */
    double target;
    double sd;      /* of one measurement */
    double base;    /* what counts as moved is the figure less this; towards the goal */
    double base_sd; /* error of that */
    hf_report *report;
    hf_goal_out *out;
} work;

/* Months of movement up to a day. */
static double time_at(const work *w, double day) {
    return fmax(day - w->out->from - w->rate.lag_days, 0.0) / HF_DAYS_PER_MONTH;
}

static hf_range told(const work *w, hf_range towards) {
    if (w->direction > 0.0) return towards;
    return (hf_range){-towards.high, -towards.mid, -towards.low};
}

static hf_range scaled(hf_range range, double factor, double shift) {
    return (hf_range){range.low * factor + shift, range.mid * factor + shift, range.high * factor + shift};
}

static hf_range no_more_than(hf_range range, hf_range most) {
    return (hf_range){fmin(range.low, most.low), fmin(range.mid, most.mid), fmin(range.high, most.high)};
}

/* Nobody drives it past the goal. */
hf_range hf_goal_expected(const hf_goal_out *goal, int day) {
    double begins = fmax(goal->from + goal->lag_days, goal->start_on); /* HF_ABSENT is before all days */
    hf_range at = scaled(goal->expected_per_month, fmax(day - begins, 0.0) / HF_DAYS_PER_MONTH, goal->start);
    double wished = goal->wished;
    if (wished < goal->start)
        return (hf_range){fmax(at.low, wished), fmax(at.mid, wished), fmax(at.high, wished)};
    return no_more_than(at, (hf_range){wished, wished, wished});
}

/* The same towards the goal. */
static hf_range expected_at(const work *w, int day) {
    return told(w, hf_goal_expected(w->out, day));
}

/* Mean and standard deviation of the lognormal rate. A segment's movement begins at 0; only the lag is
 * uncertain. What the bite was at the start is known by its first measurement only. */
static hf_growth belief(const work *w) {
    double ls = w->rate.log_sd, mean = w->rate.per_month.mid * exp(0.5 * ls * ls);
    double start_sd =
        hf_measure_of_segment(w->measure) ? mean * w->rate.lag_sd_days / HF_DAYS_PER_MONTH : INFINITY;
    return hf_growth_prior(0.0, start_sd, mean, mean * sqrt(expm1(ls * ls)));
}

/* From the first measurement that is at the goal, or by which the estimate is, the figure is held, not moved.
 */
static void learn(work *w) {
    hf_goal_out *out = w->out;
    w->growth = belief(w);
    double held = 0.0, holding = 0.0;
    for (size_t i = 0; i < out->measured_count; i++) {
        const hf_seen *seen = &out->measured[i];
        double time = time_at(w, seen->on), value = w->direction * seen->value;
        if (out->reached_on == HF_ABSENT) {
            w->growth = hf_growth_learn(w->growth, time, value, w->sd);
            w->at_last = hf_growth_level(&w->growth, time);
            if (fmax(value, w->at_last.mid) >= w->target) out->reached_on = seen->on;
        }
        if (out->reached_on == HF_ABSENT) continue;
        held += value;
        holding += 1.0;
        w->at_last.mid = held / holding;
        w->at_last.low = w->at_last.mid - two_sided_95 * w->sd / sqrt(holding);
        w->at_last.high = w->at_last.mid + two_sided_95 * w->sd / sqrt(holding);
    }
}

static double within_ten_years(double days) {
    return days <= hf_limits[HF_LIMIT_HORIZON].high ? days : NAN;
}

/* Days from the day told for until the movement has gone on for `time` months. */
static double days_until(const work *w, double time) {
    double wait = fmax(w->out->from + w->rate.lag_days - w->in->on, 0.0);
    return within_ten_years(wait + (time - time_at(w, w->in->on)) * HF_DAYS_PER_MONTH);
}

/* Nothing measured yet: the published rate alone, whose fast end arrives first. */
static void foresee(work *w) {
    hf_goal_out *out = w->out;
    double whole = w->target - w->base;
    hf_range rate = w->rate.per_month;
    double times_to[] = {whole / rate.high, whole / rate.mid, whole / rate.low}, now = time_at(w, w->in->on);
    double days[3];
    for (int i = 0; i < 3; i++)
        days[i] = days_until(w, fmax(times_to[i], now));
    out->remaining = (hf_range){
        out->wished - out->expected.high, out->wished - out->expected.mid, out->wished - out->expected.low};
    out->remaining_days = (hf_range){days[0], days[1], days[2]};
}

/* Reached: where it is held. Else the movement is taken to go on, up to the goal and no farther. */
static void estimate(work *w) {
    hf_goal_out *out = w->out;
    bool there = out->reached_on != HF_ABSENT;
    double now = time_at(w, w->in->on);
    static const double chances[] = {0.025, 0.5, 0.975};
    double days[3] = {0.0, 0.0, 0.0};
    for (int i = 0; i < 3 && !there; i++)
        days[i] = days_until(w, hf_growth_time(&w->growth, w->target, now, chances[i]));
    hf_range most = {
        fmax(w->target, w->at_last.low), fmax(w->target, w->at_last.mid), fmax(w->target, w->at_last.high)};
    hf_range level = there ? w->at_last : no_more_than(hf_growth_level(&w->growth, now), most);
    out->per_month = told(w, hf_growth_rate(&w->growth));
    out->now = told(w, level);
    out->remaining =
        (hf_range){out->wished - out->now.high, out->wished - out->now.mid, out->wished - out->now.low};
    out->remaining_days = (hf_range){days[0], days[1], days[2]};
    if (there) return;
    out->reached = hf_growth_reached(&w->growth, w->target, now);
    if (out->by != HF_ABSENT)
        out->chance_by = hf_growth_reached(&w->growth, w->target, fmax(time_at(w, out->by), now));
}

/* ---------------------------------------------------------------- what to say of it */

static void find(work *w, const char *code, hf_severity severity, const char *message, double value,
    double limit, const char *source) {
    hf_report_find(w->report,
        (hf_finding){.code = code,
            .severity = severity,
            .subject = hf_measure_of_segment(w->measure) ? HF_ABOUT_SEGMENT : HF_ABOUT_CASE,
            .name = hf_measure_of_segment(w->measure) ? w->out->segment : NULL,
            .message = hf_arena_printf(w->report->arena, "%s: %s", hf_measure_words[w->measure], message),
            .value = value,
            .limit = limit,
            .source = source});
}

/* The last measurement is no farther than chance takes it, though even a slow patient's would be. */
static bool stands_still(const work *w) {
    const hf_seen *last = &w->out->measured[w->out->measured_count - 1];
    double noise = two_sided_95 * hypot(w->sd, w->base_sd);
    double moved = w->direction * last->value - w->base, least = expected_at(w, last->on).low - w->base;
    return moved <= noise && least > noise;
}

static void judge_trend(work *w) {
    const hf_seen *last = &w->out->measured[w->out->measured_count - 1];
    hf_range expected = expected_at(w, last->on);
    double level = w->at_last.mid;
    if (stands_still(w))
        find(w, "no-progress", HF_CAUTION,
            "No movement beyond the error of measurement where even a slow patient's would show: look for what holds "
            "it (contact, binding, lost force, loose screw).",
            last->value, w->direction * expected.low, w->rate.source);
    else if (level < expected.low)
        find(w, "progress-behind", HF_CAUTION,
            "Slower than 97 of 100 patients would be by the published rate.", w->direction * level,
            w->direction * expected.low, w->rate.source);
    else if (level > expected.high)
        find(w, "progress-ahead", HF_NOTE, "Faster than 97 of 100 patients would be by the published rate.",
            w->direction * level, w->direction * expected.high, w->rate.source);
}

static void judge_date(work *w) {
    hf_goal_out *out = w->out;
    double left = out->by - (double)w->in->on;
    if (out->by == HF_ABSENT || out->remaining_days.mid <= left)
        return; /* false for NAN: no end in sight is late */
    find(w, "goal-late", HF_CAUTION, "At this pace the goal is reached after the planned day.",
        out->remaining_days.mid, left, w->rate.source);
}

static void judge_reached(work *w) {
    const hf_goal_out *out = w->out;
    const hf_seen *last = &out->measured[out->measured_count - 1];
    if (w->direction * last->value + two_sided_95 * w->sd < w->target)
        find(w, "goal-left", HF_CAUTION, "The goal was reached and is no longer held.", last->value,
            out->wished, NULL);
    else
        find(w, "goal-reached", HF_NOTE, "The goal is reached.", out->now.mid, out->wished, NULL);
    if (w->movement == HF_MOVE_POSTERIOR_INTRUSION)
        find(w, "relapse-to-expect", HF_NOTE,
            "Part of an intrusion of back teeth comes back, most of it in the first year: plan retention, and "
            "some correction in excess.",
            hf_relapse_of(fabs(out->now.mid)).three_years_mm.mid, NAN, "relapse-intrusion");
}

static void judge(work *w) {
    const hf_goal_out *out = w->out;
    if (out->reached_on != HF_ABSENT) {
        judge_reached(w);
        return;
    }
    if (out->measured_count > 0) judge_trend(w);
    if (out->remaining_days.mid <= 0.0)
        find(w, "goal-due", HF_NOTE,
            "Had the movement gone on, the goal would have been reached since it was last measured: measure it.",
            w->in->on -
                (double)(out->measured_count > 0 ? out->measured[out->measured_count - 1].on : out->from),
            NAN, w->rate.source);
    judge_date(w);
}

static void cite(const work *w) {
    hf_report_cite(w->report, w->rate.source);
    hf_report_cite(w->report, "person-spread");
    if (!isnan(w->goal->force_n)) hf_report_cite(w->report, "half-force");
    if (w->rate.lag_days > 0.0) hf_report_cite(w->report, "lag");
    if (w->out->measured_count > 0)
        hf_report_cite(w->report, hf_measure_turns(w->measure) ? "measure-sd-deg" : "measure-sd-mm");
}

/* ---------------------------------------------------------------- the whole */

static void tell_consequences(work *w) {
    hf_goal_out *out = w->out;
    out->relapse = (hf_relapse){nothing, nothing};
    out->autorotation = (hf_autorotation){nothing, nothing, nothing, nothing};
    if (w->movement != HF_MOVE_POSTERIOR_INTRUSION || w->measure != HF_MEASURE_OCCLUSAL) return;
    out->relapse = hf_relapse_of(fabs(out->wished));
    hf_report_cite(w->report, "relapse-intrusion");
    const hf_segment_in *segment = hf_course_segment(w->in, out->segment);
    if (!segment || segment->tooth_count == 0 || hf_tooth_jaw(segment->teeth[0]) != HF_MAXILLA) return;
    out->autorotation = hf_autorotation_of(fabs(out->wished));
    hf_report_cite(w->report, "follow-overbite");
    hf_report_cite(w->report, "follow-plane");
}

/* From where the goal is approached. False: the bite has not been measured, so nobody knows from which side.
 */
static bool find_base(work *w) {
    hf_goal_out *out = w->out;
    bool of_segment = hf_measure_of_segment(w->measure);
    if (!of_segment && out->measured_count == 0) return false;
    double start = of_segment ? 0.0 : out->measured[0].value;
    w->direction = out->wished < start ? -1.0 : 1.0;
    out->start = start;
    w->base = w->direction * start;
    w->target = w->direction * out->wished;
    w->sd = hf_measure_sd(w->measure);
    w->base_sd = of_segment ? 0.0 : w->sd;
    return true;
}

static void tell_goal(
    const hf_course_in *in, const hf_goal_in *goal, hf_measure measure, hf_report *report, hf_goal_out *out) {
    work w = {.in = in, .goal = goal, .measure = measure, .report = report, .out = out};
    *out = (hf_goal_out){.segment = goal->segment,
        .measure = hf_measure_names[measure],
        .wished = goal->wished[measure],
        .from = goal->from != HF_ABSENT ? goal->from : in->from,
        .by = goal->by,
        .reached_on = HF_ABSENT,
        .lag_days = NAN,
        .start = NAN,
        .start_on = HF_ABSENT,
        .expected_per_month = nothing,
        .expected = nothing,
        .per_month = nothing,
        .now = nothing,
        .reached = NAN,
        .remaining = nothing,
        .remaining_days = nothing,
        .chance_by = NAN};
    out->measured = hf_course_series(in, goal->segment, measure, report->arena, &out->measured_count);
    bool approached = find_base(&w);
    w.movement = hf_course_movement(in, goal, measure, w.direction);
    tell_consequences(&w);
    if (!approached || out->from == HF_ABSENT) return;
    w.rate = hf_rate_expected(w.movement, hf_course_canine_force(in, goal));
    out->movement = hf_movement_names[w.movement];
    out->lag_days = w.rate.lag_days;
    if (!hf_measure_of_segment(measure)) out->start_on = out->measured[0].on;
    out->expected_per_month = told(&w, w.rate.per_month);
    out->expected = hf_goal_expected(out, in->on);
    learn(&w);
    if (out->measured_count > 0)
        estimate(&w);
    else
        foresee(&w);
    judge(&w);
    cite(&w);
}

/* ---------------------------------------------------------------- what was not wished */

static bool is_wished(const hf_course_in *in, const char *segment, hf_measure measure) {
    for (size_t i = 0; i < in->goal_count; i++) {
        const hf_goal_in *goal = &in->goals[i];
        if (goal->segment && strcmp(goal->segment, segment) == 0 && fabs(goal->wished[measure]) > 0.0)
            return true;
    }
    return false;
}

static void judge_side_effects(const hf_course_in *in, hf_report *report) {
    for (size_t s = 0; s < in->segment_count; s++) {
        const char *name = in->segments[s].name;
        for (int m = 0; hf_measure_of_segment((hf_measure)m); m++) {
            hf_measure measure = (hf_measure)m;
            size_t count;
            hf_seen *series = hf_course_series(in, name, measure, report->arena, &count);
            if (!name || count == 0 || is_wished(in, name, measure)) continue;
            double value = series[count - 1].value;
            double limit = hf_measure_turns(measure) ? HF_EV(SIDE_TURN) : HF_EV(SIDE_SHIFT);
            if (fabs(value) - two_sided_95 * hf_measure_sd(measure) <= limit) continue;
            hf_report_find(
                report, (hf_finding){.code = "side-effect",
                            .severity = HF_CAUTION,
                            .subject = HF_ABOUT_SEGMENT,
                            .name = name,
                            .message = hf_arena_printf(report->arena,
                                "%s: moved in a direction that is no goal, beyond the error of measurement.",
                                hf_measure_words[measure]),
                            .value = value,
                            .limit = limit,
                            .source = hf_measure_turns(measure) ? "side-turn" : "side-shift"});
        }
    }
}

hf_progress hf_progress_of(const hf_course_in *in, hf_arena *arena) {
    hf_report report = hf_report_on(arena);
    hf_progress out = {.on = in->on, .notice = notice};
    out.goals = HF_NEW_ARRAY(arena, hf_goal_out, in->goal_count * HF_MEASURE_COUNT);
    for (size_t i = 0; i < in->goal_count; i++) {
        const hf_goal_in *goal = &in->goals[i];
        for (int m = 0; m < HF_MEASURE_COUNT; m++) {
            bool held = hf_measure_of_segment((hf_measure)m) && fabs(goal->wished[m]) <= 0.0;
            if (isnan(goal->wished[m]) || held) continue;
            tell_goal(in, goal, (hf_measure)m, &report, &out.goals[out.goal_count++]);
        }
    }
    judge_side_effects(in, &report);
    hf_answer answer = {0};
    hf_report_finish(&report, &answer);
    out.findings = answer.findings;
    out.finding_count = answer.finding_count;
    out.sources = answer.sources;
    out.source_count = answer.source_count;
    return out;
}
