/* A course of treatment: what was wished, what the visits measured, and what that says of the rest. Each goal
 * starts from the published rate of its movement and learns this patient's own (growth.h): a normal belief
 * with the mean and the spread of the published, lognormal one. Days as in case.h; a figure that is not there
 * is NAN. */
#ifndef HF_PROGRESS_H
#define HF_PROGRESS_H

#include "answer.h"
#include "arena.h"
#include "course.h"

/* What comes back of an intrusion of back teeth, mm. */
typedef struct hf_relapse {
    hf_range first_year_mm, three_years_mm;
} hf_relapse;

/* What the mandible does when the upper back teeth of both sides are intruded. */
typedef struct hf_autorotation {
    hf_range overbite_mm, menton_up_mm, pogonion_forward_mm, plane_flatter_deg;
} hf_autorotation;

hf_relapse hf_relapse_of(double intrusion_mm);
hf_autorotation hf_autorotation_of(double intrusion_mm);

/* One wished figure. All in the sign and unit of its measure, low <= mid <= high, 95 %. */
typedef struct hf_goal_out {
    const char *segment, *measure, *movement;
    double wished;
    int from, by;
    double lag_days;
    double start; /* figure that the movement begins with; NAN: the bite has not been measured */
    int start_on; /* day of that figure; HF_ABSENT: the first day of force */
    /* By the published rate: rate, and figure on the day, which goes no farther than the goal. */
    hf_range expected_per_month, expected;
    hf_seen *measured; /* rising days */
    size_t measured_count;
    /* Learnt from what was measured; NAN while nothing was. */
    hf_range per_month, now;
    double reached; /* probability that it is reached by now; NAN once it was measured to be */
    int reached_on; /* first measurement by which the goal was reached; from then on it is held. HF_ABSENT */
    hf_range remaining;
    hf_range remaining_days; /* an end beyond ten years is not told */
    double chance_by;        /* probability of arriving by the planned day */
    hf_relapse relapse;      /* of the wished movement; NAN for other movements */
    hf_autorotation autorotation;
} hf_goal_out;

typedef struct hf_progress {
    int on;
    hf_goal_out *goals; /* one per wished figure, but for what is to be held */
    size_t goal_count;
    hf_finding *findings;
    size_t finding_count;
    hf_source *sources;
    size_t source_count;
    const char *notice;
} hf_progress;

/* Where the published rate puts the figure on a day, no farther than the goal. */
hf_range hf_goal_expected(const hf_goal_out *goal, int day);

/* Strings of the input are borrowed. */
hf_progress hf_progress_of(const hf_course_in *in, hf_arena *arena);

#endif
