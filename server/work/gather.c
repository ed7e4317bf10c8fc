#include "gather.h"

#include <assert.h>
#include <errno.h>
#include <pthread.h>
#include <stdbool.h>
#include <stdlib.h>

struct hfd_gather {
    pthread_t thread;
    pthread_mutex_t lock;
    pthread_cond_t come;
    bool ending;
    size_t most, waiting_count, working_count;
    void **waiting, **working; /* each with room for `most` */
    void (*work)(void *ctx, void *const *items, size_t count);
    void *ctx;
};

/* All that waits becomes what is worked on. False: nothing will come any more. */
static bool take_all(struct hfd_gather *gather) {
    pthread_mutex_lock(&gather->lock);
    gather->working_count = 0;
    while (gather->waiting_count == 0 && !gather->ending)
        pthread_cond_wait(&gather->come, &gather->lock);
    void **taken = gather->waiting;
    gather->waiting = gather->working;
    gather->working = taken;
    gather->working_count = gather->waiting_count;
    gather->waiting_count = 0;
    const bool any = gather->working_count > 0;
    pthread_mutex_unlock(&gather->lock);
    return any;
}

static void *run(void *argument) {
    struct hfd_gather *gather = argument;
    while (take_all(gather))
        gather->work(gather->ctx, gather->working, gather->working_count);
    return NULL;
}

static void discard(struct hfd_gather *gather) {
    pthread_cond_destroy(&gather->come);
    pthread_mutex_destroy(&gather->lock);
    free(gather->waiting);
    free(gather->working);
    free(gather);
}

struct hfd_gather *hfd_gather_new(
    size_t most, void (*work)(void *ctx, void *const *items, size_t count), void *ctx) {
    struct hfd_gather *gather = calloc(1, sizeof *gather);
    if (gather == NULL) return NULL;
    pthread_mutex_init(&gather->lock, NULL);
    pthread_cond_init(&gather->come, NULL);
    gather->most = most;
    gather->work = work;
    gather->ctx = ctx;
    gather->waiting = calloc(most, sizeof *gather->waiting);
    gather->working = calloc(most, sizeof *gather->working);
    int error = gather->waiting != NULL && gather->working != NULL
                    ? pthread_create(&gather->thread, NULL, run, gather)
                    : ENOMEM;
    if (error == 0) return gather;
    discard(gather);
    errno = error;
    return NULL;
}

void hfd_gather_push(struct hfd_gather *gather, void *item) {
    pthread_mutex_lock(&gather->lock);
    assert(gather->waiting_count < gather->most);
    gather->waiting[gather->waiting_count++] = item;
    if (gather->waiting_count == 1) pthread_cond_signal(&gather->come);
    pthread_mutex_unlock(&gather->lock);
}

size_t hfd_gather_busy(struct hfd_gather *gather) {
    pthread_mutex_lock(&gather->lock);
    const size_t busy = gather->waiting_count + gather->working_count;
    pthread_mutex_unlock(&gather->lock);
    return busy;
}

void hfd_gather_free(struct hfd_gather *gather) {
    if (gather == NULL) return;
    pthread_mutex_lock(&gather->lock);
    gather->ending = true;
    pthread_cond_signal(&gather->come);
    pthread_mutex_unlock(&gather->lock);
    pthread_join(gather->thread, NULL);
    discard(gather);
}
