/* Pages of the chart, and what they share with the resources that they are pages of. */
#ifndef HFD_SHEETS_H
#define HFD_SHEETS_H

#include "../json/document.h"
#include "../pages/html.h"
#include "../rest/op.h"

hfd_operation hfd_patient_sheet, hfd_case_sheet, hfd_visit_sheet;
hfd_list_page hfd_patients_list, hfd_worklist_list;

/* What the frame of a page tells of the clinic. */
extern const struct hfd_statement hfd_clinic_statement;
struct hfd_frame hfd_frame_of(const struct hfd_op *op, const struct hfd_rows *clinic, const char *title);

/* A drawing of the clinic's own records. Its foot says when they are invented: it may be seen without the
 * page that says so. */
enum hfd_problem_kind hfd_clinic_drawing(struct hfd_op *op, struct hfd_buf *drawing);

/* A course by case and day (NULL: today). */
extern const struct hfd_statement hfd_course_statement;

/* What happened on a case, in order: day, collection and id of the record, words. */
extern const struct hfd_statement hfd_timeline_statement;

/* Runs the calls, of which the last two are its own, in one transaction, and evaluates op's visit on a day
 * (NULL: its own); an answer that is new is kept. HFD_OK with the evaluation, which may be a refusal. */
enum hfd_problem_kind hfd_visit_evaluate(struct hfd_op *op, const char *on, enum hfd_answer_part part,
    struct hfd_call *calls, size_t count, struct hfd_evaluation *e);

#endif
