/* Lets replies go once the audit holds what they tell: whatever waits is written in one transaction. */
#include <stdlib.h>

#include "../http/http.h"
#include "../rest/trace.h"
#include "../work/gather.h"
#include "app.h"

struct hfd_auditor {
    struct hfd_store *store;
    struct hfd_gather *gather;
    const struct hfd_trace **traces; /* of the replies in hand */
};

static void keep(void *ctx, void *const *jobs, size_t count) {
    struct hfd_auditor *auditor = ctx;
    for (size_t i = 0; i < count; i++)
        auditor->traces[i] = hfd_http_trace(jobs[i]);
    const bool kept = hfd_trace_keep(auditor->store, auditor->traces, count);
    for (size_t i = 0; i < count; i++)
        hfd_http_audited(jobs[i], kept);
}

struct hfd_auditor *hfd_app_audit(const char *database, size_t most, struct hfd_store_counters *counters) {
    struct hfd_auditor *auditor = calloc(1, sizeof *auditor);
    if (auditor == NULL) return NULL;
    auditor->traces = calloc(most, sizeof *auditor->traces);
    auditor->store = hfd_store_new(database);
    if (auditor->traces != NULL && auditor->store != NULL) {
        hfd_store_count(auditor->store, counters);
        auditor->gather = hfd_gather_new(most, keep, auditor);
    }
    if (auditor->gather != NULL) return auditor;
    hfd_app_audit_end(auditor);
    return NULL;
}

void hfd_app_audit_reply(struct hfd_auditor *auditor, void *job) {
    hfd_gather_push(auditor->gather, job);
}

size_t hfd_app_audit_waiting(struct hfd_auditor *auditor) {
    return hfd_gather_busy(auditor->gather);
}

void hfd_app_audit_end(struct hfd_auditor *auditor) {
    if (auditor == NULL) return;
    hfd_gather_free(auditor->gather);
    hfd_store_free(auditor->store);
    free(auditor->traces);
    free(auditor);
}
