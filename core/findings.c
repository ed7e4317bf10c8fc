#include "findings.h"

const char *const hf_severity_names[HF_SEVERITY_COUNT] = {
    [HF_NOTE] = "note",
    [HF_CAUTION] = "caution",
    [HF_STOP] = "stop",
};
