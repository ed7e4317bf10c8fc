/* A course of treatment as it is told: goals, and what the visits measured. Days as in case.h; a figure that
 * is not there is NAN. */
#ifndef HF_COURSE_H
#define HF_COURSE_H

#include <stdbool.h>

#include "arena.h"
#include "case.h"
#include "rate.h"

typedef enum hf_measure {
    /* of a segment: movement since the start, in its own directions */
    HF_MEASURE_MESIAL,
    HF_MEASURE_BUCCAL,
    HF_MEASURE_OCCLUSAL,
    HF_MEASURE_TIP,
    HF_MEASURE_TORQUE,
    HF_MEASURE_ROTATION,
    /* of the bite: as it stands */
    HF_MEASURE_OVERJET,
    HF_MEASURE_OVERBITE,
    HF_MEASURE_SPACE_RIGHT,
    HF_MEASURE_SPACE_LEFT,
    HF_MEASURE_COUNT
} hf_measure;

/* "occlusal_mm", "tip_deg", …; NULL-ended. The unit is the end of the name. */
extern const char *const hf_measure_names[HF_MEASURE_COUNT + 1];
/* The same for people: "towards mesial", without the unit. */
extern const char *const hf_measure_words[HF_MEASURE_COUNT];

typedef struct hf_goal_in {
    const char *segment;             /* NULL: of the bite */
    double wished[HF_MEASURE_COUNT]; /* a segment's: movement in all, 0 = to be held; the bite's: where to
                                        arrive */
    hf_movement movement;            /* whose rate is expected; HF_MOVEMENT_COUNT: by direction and teeth */
    double force_n;                  /* on the segment; NAN: as where the rate was published */
    int from, by;                    /* first day; planned day of arrival. HF_ABSENT: the course's; none */
} hf_goal_in;

typedef struct hf_moved_in {
    const char *segment;
    double figure[HF_MEASURE_COUNT]; /* a segment's */
} hf_moved_in;

typedef struct hf_seen_in {
    int on;
    double figure[HF_MEASURE_COUNT]; /* the bite's */
    const hf_moved_in *moved;
    size_t moved_count;
} hf_seen_in;

typedef struct hf_course_in {
    int on;   /* day that it is told for; visits after it are not looked at */
    int from; /* first day of force */
    const hf_segment_in *segments;
    size_t segment_count;
    const hf_goal_in *goals;
    size_t goal_count;
    const hf_seen_in *visits; /* any order */
    size_t visit_count;
} hf_course_in;

hf_goal_in hf_goal_default(void);
hf_moved_in hf_moved_default(void);
hf_seen_in hf_seen_default(void);
hf_course_in hf_course_default(void);

typedef struct hf_seen {
    int on;
    double value;
} hf_seen;

/* ---- questions to it */

bool hf_measure_turns(hf_measure measure);      /* told in degrees */
bool hf_measure_of_segment(hf_measure measure); /* movement of a segment, not a figure of the bite */
double hf_measure_sd(hf_measure measure);       /* usual error of one measurement */

/* NULL when there is none. */
const hf_segment_in *hf_course_segment(const hf_course_in *in, const char *name);
/* What the visits up to the day measured, in the order of days. */
hf_seen *hf_course_series(
    const hf_course_in *in, const char *segment, hf_measure measure, hf_arena *arena, size_t *count);
/* Whose rate is expected of a goal: the movement told with it when its unit fits, else the usual one by
 * direction (1 or -1) and teeth. */
hf_movement hf_course_movement(
    const hf_course_in *in, const hf_goal_in *goal, hf_measure measure, double direction);
/* The usual movement of these teeth in a direction (1 or -1) of a measure. */
hf_movement hf_movement_usual(hf_measure measure, const int *teeth, size_t count, double direction);
/* Force on an upper canine that would load its root area like a goal's force its segment; NAN when either is
 * not known. */
double hf_course_canine_force(const hf_course_in *in, const hf_goal_in *goal);

#endif
