/* Seals the audit in the background, on a connection of its own. */
#include <stdlib.h>

#include "../base/clock.h"
#include "../base/log.h"
#include "../store/store.h"
#include "../work/ticker.h"
#include "app.h"

/* A row is sealed within a second, also behind a call that takes its time. */
static const int64_t pause_ns = 400 * HFD_NS_PER_MS;

struct hfd_sealer {
    struct hfd_store *store;
    struct hfd_ticker *ticker;
};

static const struct hfd_statement seal_statement = {"seal-audit", "select holdfast.seal_audit()", 0};

/* Rows sealed; 0 also when it failed: they wait. */
static long seal_once(struct hfd_store *store) {
    hf_arena arena;
    hf_arena_init(&arena, 4096, 0);
    struct hfd_call call = {.statement = &seal_statement};
    struct hfd_store_error error;
    enum hfd_store_status status = hfd_store_alone(store, &call, &arena, &error);
    long rows = status == HFD_STORE_OK ? strtol(hfd_cell(&call.rows, 0, 0), NULL, 10) : 0;
    /* A database that is away is the connection's to tell. */
    if (status != HFD_STORE_OK && status != HFD_STORE_DOWN)
        hfd_log(HFD_LOG_ERROR, "audit not sealed", HFD_LOG_TEXT("sqlstate", error.sqlstate),
            HFD_LOG_TEXT("constraint", error.constraint));
    hf_arena_fini(&arena);
    return rows;
}

/* A call takes no more than its share at once. */
static void seal(void *store) {
    while (seal_once(store) >= 1000)
        continue;
}

struct hfd_sealer *hfd_app_seal(const char *database) {
    struct hfd_sealer *sealer = calloc(1, sizeof *sealer);
    if (sealer == NULL) return NULL;
    sealer->store = hfd_store_new(database);
    if (sealer->store != NULL) sealer->ticker = hfd_ticker_new(pause_ns, seal, sealer->store);
    if (sealer->ticker != NULL) return sealer;
    hfd_app_seal_end(sealer);
    return NULL;
}

void hfd_app_seal_end(struct hfd_sealer *sealer) {
    if (sealer == NULL) return;
    hfd_ticker_free(sealer->ticker);
    hfd_store_free(sealer->store);
    free(sealer);
}
