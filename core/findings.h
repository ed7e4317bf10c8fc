/* What the clinician should know beside the numbers. A finding never hides a number. */
#ifndef HF_FINDINGS_H
#define HF_FINDINGS_H

typedef enum hf_severity { HF_NOTE, HF_CAUTION, HF_STOP, HF_SEVERITY_COUNT } hf_severity;

typedef enum hf_subject {
    HF_ABOUT_CASE,
    HF_ABOUT_SCREW,
    HF_ABOUT_PLATE,
    HF_ABOUT_SEGMENT,
    HF_ABOUT_ELEMENT,
    HF_ABOUT_NODE
} hf_subject;

typedef struct hf_finding {
    const char *code; /* "unscrewing-moment" */
    hf_severity severity;
    hf_subject subject;
    const char *name; /* of the subject */
    const char *message;
    double value, limit; /* NAN when there is none */
    const char *source;  /* evidence key */
} hf_finding;

extern const char *const hf_severity_names[HF_SEVERITY_COUNT];

#endif
