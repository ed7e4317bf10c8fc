#include <stdio.h>

#include "../rest/rest.h"
#include "../store/guard.h"
#include "app.h"

static const char *what_is_missing(const struct hfd_config *config, hf_arena *arena) {
    const char *fault = hfd_rest_check(hfd_resources, arena);
    if (fault) return fault;
    struct hfd_store *store = hfd_store_new(config->database);
    if (!store) return "no memory";
    bool ready = hfd_store_ready(store);
    hfd_store_free(store);
    const char *unguarded = hfd_store_guard(config->database, arena);
    if (unguarded) return unguarded;
    return ready
               ? NULL
               : "the database does not answer, or its schema is not the one of this program (holdfastd migrate)";
}

int hfd_app_check(const struct hfd_config *config) {
    hf_arena arena;
    hf_arena_init(&arena, 65536, 0);
    const char *missing = what_is_missing(config, &arena);
    if (missing)
        fprintf(stderr, "holdfastd: not ready to serve: %s\n", missing);
    else
        puts("ready to serve");
    hf_arena_fini(&arena);
    return missing ? 1 : 0;
}
