#include "ticker.h"

#include <errno.h>
#include <pthread.h>
#include <stdbool.h>
#include <stdlib.h>
#include <time.h>

#include "../base/clock.h"

struct hfd_ticker {
    pthread_t thread;
    pthread_mutex_t mutex;
    pthread_cond_t end;
    bool ending;
    int64_t pause_ns;
    void (*work)(void *ctx);
    void *ctx;
};

/* True when it is over. */
static bool pause_until_end(struct hfd_ticker *ticker) {
    const int64_t until_ns = hfd_clock_monotonic_ns() + ticker->pause_ns;
    const struct timespec until = {
        .tv_sec = (time_t)(until_ns / HFD_NS_PER_S), .tv_nsec = (long)(until_ns % HFD_NS_PER_S)};
    pthread_mutex_lock(&ticker->mutex);
    while (!ticker->ending && pthread_cond_timedwait(&ticker->end, &ticker->mutex, &until) != ETIMEDOUT)
        continue;
    const bool over = ticker->ending;
    pthread_mutex_unlock(&ticker->mutex);
    return over;
}

static void *run(void *argument) {
    struct hfd_ticker *ticker = argument;
    do
        ticker->work(ticker->ctx);
    while (!pause_until_end(ticker));
    ticker->work(ticker->ctx);
    return NULL;
}

static bool start(struct hfd_ticker *ticker) {
    pthread_condattr_t monotonic;
    pthread_condattr_init(&monotonic);
    pthread_condattr_setclock(&monotonic, CLOCK_MONOTONIC);
    pthread_mutex_init(&ticker->mutex, NULL);
    pthread_cond_init(&ticker->end, &monotonic);
    pthread_condattr_destroy(&monotonic);
    return pthread_create(&ticker->thread, NULL, run, ticker) == 0;
}

static void discard(struct hfd_ticker *ticker) {
    pthread_cond_destroy(&ticker->end);
    pthread_mutex_destroy(&ticker->mutex);
    free(ticker);
}

struct hfd_ticker *hfd_ticker_new(int64_t pause_ns, void (*work)(void *ctx), void *ctx) {
    struct hfd_ticker *ticker = calloc(1, sizeof *ticker);
    if (ticker == NULL) return NULL;
    ticker->pause_ns = pause_ns;
    ticker->work = work;
    ticker->ctx = ctx;
    if (start(ticker)) return ticker;
    discard(ticker);
    return NULL;
}

void hfd_ticker_free(struct hfd_ticker *ticker) {
    if (ticker == NULL) return;
    pthread_mutex_lock(&ticker->mutex);
    ticker->ending = true;
    pthread_cond_signal(&ticker->end);
    pthread_mutex_unlock(&ticker->mutex);
    pthread_join(ticker->thread, NULL);
    discard(ticker);
}
