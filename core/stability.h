/* Statistical risk of losing a screw within the horizon, given that it is still in place, and of a plate's
 * screws together. Every contribution is listed. The mechanical margin is told beside it and never multiplied
 * in. */
#ifndef HF_STABILITY_H
#define HF_STABILITY_H

#include "answer.h"
#include "arena.h"
#include "report.h"
#include "site.h"

typedef struct hf_stability_input {
    const hf_screw_in *screw; /* as given */
    const hf_site *site;      /* clinic's override already merged */
    const hf_patient_in *patient;
    double diameter_mm, length_mm, cortex_mm;
    bool cortex_assumed; /* a site default is not evidence about this patient: no odds ratio from it */
    bool head_clears_tissue;
    hf_window torque;
    int days_in_place; /* HF_ABSENT when placed_on is unknown: then risk from placement */
    int horizon_days;
} hf_stability_input;

/* Fills out->loss, causes, cause_count; cites sources. */
void hf_stability_screw(const hf_stability_input *in, hf_report *report, hf_screw_out *out);

/* Screws of one plate in one patient depend on each other (shared frailty). loss: one range per screw. */
void hf_stability_plate(const hf_range *loss, size_t count, hf_plate_risk *out);

#endif
