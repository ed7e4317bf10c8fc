#include "../../../server/work/ticker.h"

#include <criterion/criterion.h>
#include <pthread.h>
#include <semaphore.h>
#include <stdatomic.h>
#include <time.h>

#include "../../../server/base/clock.h"

struct shared {
    sem_t begun, gate; /* each work tells that it began, and waits at the gate when there is one */
    bool gated;
    _Atomic int begun_count, ended_count, at_once;
};

static void work(void *ctx) {
    struct shared *shared = ctx;
    cr_assert_eq(atomic_fetch_add(&shared->at_once, 1), 0, "never two at a time");
    atomic_fetch_add(&shared->begun_count, 1);
    sem_post(&shared->begun);
    if (shared->gated) sem_wait(&shared->gate);
    atomic_fetch_add(&shared->ended_count, 1);
    atomic_fetch_sub(&shared->at_once, 1);
}

static struct shared *make(bool gated) {
    static struct shared shared;
    sem_init(&shared.begun, 0, 0);
    sem_init(&shared.gate, 0, 0);
    shared.gated = gated;
    return &shared;
}

static const int64_t an_hour_ns = 3600 * HFD_NS_PER_S;

Test(ticker, works_at_once_and_again_after_each_pause, .timeout = 20) {
    struct shared *shared = make(false);
    const int64_t begin_ns = hfd_clock_monotonic_ns(), pause_ns = 20 * HFD_NS_PER_MS;
    struct hfd_ticker *ticker = hfd_ticker_new(pause_ns, work, shared);
    cr_assert_not_null(ticker);
    for (int i = 0; i < 4; i++)
        sem_wait(&shared->begun);
    cr_expect_geq(hfd_clock_monotonic_ns() - begin_ns, 3 * pause_ns, "three pauses between four works");
    hfd_ticker_free(ticker);
}

/* What came in after the last work is not left behind, and nobody waits for the pause. */
Test(ticker, works_once_more_at_its_end, .timeout = 20) {
    struct shared *shared = make(false);
    struct hfd_ticker *ticker = hfd_ticker_new(an_hour_ns, work, shared);
    sem_wait(&shared->begun);
    hfd_ticker_free(ticker);
    cr_expect_eq(shared->begun_count, 2);
    cr_expect_eq(shared->ended_count, 2);
}

static void *open_gate_later(void *ctx) {
    struct shared *shared = ctx;
    nanosleep(&(struct timespec){.tv_nsec = 50 * HFD_NS_PER_MS}, NULL);
    cr_expect_eq(atomic_load(&shared->ended_count), 0);
    sem_post(&shared->gate), sem_post(&shared->gate);
    return NULL;
}

Test(ticker, waits_for_the_work_in_hand, .timeout = 20) {
    struct shared *shared = make(true);
    struct hfd_ticker *ticker = hfd_ticker_new(an_hour_ns, work, shared);
    pthread_t opener;
    sem_wait(&shared->begun);
    pthread_create(&opener, NULL, open_gate_later, shared);
    hfd_ticker_free(ticker);
    cr_expect_eq(shared->ended_count, 2);
    pthread_join(opener, NULL);
}

Test(ticker, none_is_freed_without_harm) {
    hfd_ticker_free(NULL);
}
