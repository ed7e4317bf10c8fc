/* Lists as pages: the patients of a clinic, and who needs its attention on a day. */
#ifndef HFD_LISTS_H
#define HFD_LISTS_H

#include "html.h"

/* Each member a text or NULL; named like the columns of the resource. */
struct hfd_listed_patient {
    const char *id, *chart_number, *family_name, *given_name, *birth_date;
};

struct hfd_listed_case {
    const char *id, *patient_id, *chart_number, *family_name, *given_name, *title, *clinician, *chair,
        *visit_id, *visited_on, *next_on, *overdue_days, *due, *at_risk, *loose_screws, *mobile_screws,
        *lost_screws, *evaluation, *severity, *loss_low, *loss, *loss_high;
};

struct hfd_patients_page {
    struct hfd_frame frame;
    const struct hfd_listed_patient *patients;
    size_t count;
    const char *chart_number, *family_name; /* asked for, or NULL */
    const char *next;                       /* path of the next page; NULL: the last */
};

struct hfd_worklist_page {
    struct hfd_frame frame;
    const struct hfd_listed_case *cases;
    size_t count;
    const char *on, *clinician, *chair, *due, *at_risk; /* asked for, or NULL */
    const char *const *clinicians, *const *chairs;      /* to choose from, NULL-ended */
    const char *next;
};

void hfd_patients_page(struct hfd_buf *out, const struct hfd_patients_page *page);
void hfd_worklist_page(struct hfd_buf *out, const struct hfd_worklist_page *page);

#endif
