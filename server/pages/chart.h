/* What the pages of a patient's chart are made of: rows as the record holds them, each member a text or NULL.
 * Members stand in the order in which the statements select them. */
#ifndef HFD_CHART_H
#define HFD_CHART_H

#include "../../core/answer.h"
#include "../../core/progress.h"
#include "../base/problem.h"
#include "html.h"

/* Who is signed in where; whose chart it is. */
struct hfd_chart_clinic {
    const char *name, *demo; /* "t" */
};

struct hfd_chart_patient {
    const char *id, *chart_number, *given_name, *family_name, *birth_date, *age_years, *sex,
        *cigarettes_per_day, *note;
};

struct hfd_chart_case {
    const char *id, *title, *clinician, *chair, *opened_on, *closed_on, *state, *note, *visits, *last_on,
        *next_on;
};

struct hfd_chart_visit {
    const char *id, *visited_on, *next_on, *note, *elements, *actions;
};

struct hfd_chart_screw {
    const char *id, *name, *site, *model, *placed_on, *state, *state_on, *state_reason, *lot, *case_title;
};

struct hfd_chart_setup {
    const char *name, *purpose, *version, *worn_from, *worn_to;
};

struct hfd_chart_check {
    const char *screw, *mobility_grade, *inflammation_grade, *percussion_score, *resonance_score;
};

struct hfd_chart_action {
    const char *action, *of, *note;
};

struct hfd_chart_stage {
    const char *name, *planned_from, *planned_to, *note;
};

/* Something that happened; `of`: "visits", "screws", … */
struct hfd_chart_entry {
    const char *day, *of, *id, *words;
};

/* "Family, Given", or the chart number when no name is recorded. */
const char *hfd_chart_name(const struct hfd_chart_patient *patient, hf_arena *arena);
/* "Family, Given", chart number, age: the line that says whose chart it is. */
void hfd_chart_who(struct hfd_buf *out, const struct hfd_chart_patient *patient);

struct hfd_visit_page {
    struct hfd_frame frame;
    struct hfd_chart_patient patient;
    struct hfd_chart_case course;
    struct hfd_chart_visit visit;
    const char *before, *after; /* ids of the visits beside this one; NULL: none */
    const struct hfd_chart_setup *worn;
    size_t worn_count;
    const struct hfd_chart_check *checks;
    size_t check_count;
    const struct hfd_chart_action *actions;
    size_t action_count;
    /* NULL: the record does not make a whole mechanics document; `missing` says what it lacks. */
    const hf_case *in;
    const hf_answer *answer;
    const struct hfd_errors *missing;
    const char *digest;
    hf_arena *arena;
};

void hfd_visit_page(struct hfd_buf *out, const struct hfd_visit_page *page);

struct hfd_case_page {
    struct hfd_frame frame;
    struct hfd_chart_patient patient;
    struct hfd_chart_case course;
    const struct hfd_chart_visit *visits;
    size_t visit_count;
    const struct hfd_chart_setup *setups;
    size_t setup_count;
    const struct hfd_chart_screw *screws;
    size_t screw_count;
    const struct hfd_chart_stage *stages;
    size_t stage_count;
    const struct hfd_chart_entry *entries;
    size_t entry_count;
    const hf_progress *progress; /* NULL: no goals */
    hf_arena *arena;
};

void hfd_case_page(struct hfd_buf *out, const struct hfd_case_page *page);

struct hfd_patient_page {
    struct hfd_frame frame;
    struct hfd_chart_patient patient;
    const struct hfd_chart_case *cases;
    size_t case_count;
    const struct hfd_chart_screw *screws;
    size_t screw_count;
    hf_arena *arena;
};

void hfd_patient_page(struct hfd_buf *out, const struct hfd_patient_page *page);

#endif
