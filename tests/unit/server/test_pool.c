#include <criterion/criterion.h>
#include <semaphore.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <time.h>

#include "../../../server/work/pool.h"

struct shared {
    sem_t gate; /* jobs wait here */
    _Atomic int contexts_made, contexts_freed, run, dropped;
    _Atomic bool unsound_next;
};

struct job {
    struct shared *shared;
    void *context;
    int times;
};

static void *context_new(void *ctx) {
    struct shared *shared = ctx;
    atomic_fetch_add(&shared->contexts_made, 1);
    struct shared **context = malloc(sizeof *context);
    *context = shared;
    return context;
}

static void context_free(void *context) {
    atomic_fetch_add(&(*(struct shared **)context)->contexts_freed, 1);
    free(context);
}

static bool run(void *context, void *argument) {
    struct job *job = argument;
    sem_wait(&job->shared->gate);
    job->context = context;
    job->times++;
    atomic_fetch_add(&job->shared->run, 1);
    return !atomic_exchange(&job->shared->unsound_next, false);
}

static void drop(void *argument) {
    struct job *job = argument;
    atomic_fetch_add(&job->shared->dropped, 1);
}

static struct hfd_pool *make(struct shared *shared, size_t workers, size_t queue_length) {
    sem_init(&shared->gate, 0, 0);
    struct hfd_pool *pool = hfd_pool_new(&(struct hfd_pool_config){.workers = workers,
        .queue_length = queue_length,
        .stack_bytes = 512 * 1024,
        .context_new = context_new,
        .context_free = context_free,
        .ctx = shared,
        .run = run,
        .drop = drop});
    cr_assert_not_null(pool);
    return pool;
}

static bool put(struct hfd_pool *pool, struct job *job) {
    if (!hfd_pool_reserve(pool, false)) return false;
    hfd_pool_push(pool, job);
    return true;
}

static void wait_until(struct hfd_pool *pool, size_t waiting) {
    for (int i = 0; i < 2000 && hfd_pool_waiting(pool) != waiting; i++) {
        nanosleep(&(struct timespec){.tv_nsec = 1000000}, NULL);
    }
    cr_assert_eq(hfd_pool_waiting(pool), waiting);
}

Test(pool, every_job_is_run_once_each_worker_with_its_own_context, .timeout = 30) {
    enum { COUNT = 500 };
    static struct job jobs[COUNT];
    struct shared shared = {0};
    struct hfd_pool *pool = make(&shared, 4, COUNT);
    for (int i = 0; i < COUNT; i++) {
        jobs[i].shared = &shared;
        cr_assert(put(pool, &jobs[i]));
        sem_post(&shared.gate);
    }
    hfd_pool_free(pool);
    for (int i = 0; i < COUNT; i++) {
        cr_assert_eq(jobs[i].times, 1, "job %d", i);
        cr_assert_not_null(jobs[i].context);
    }
    cr_assert_eq(shared.contexts_made, 4);
    cr_assert_eq(shared.contexts_freed, 4);
}

Test(pool, a_full_queue_refuses_and_takes_again, .timeout = 30) {
    struct shared shared = {0};
    struct job jobs[5] = {
        {&shared, NULL, 0}, {&shared, NULL, 0}, {&shared, NULL, 0}, {&shared, NULL, 0}, {&shared, NULL, 0}};
    struct hfd_pool *pool = make(&shared, 1, 2);
    cr_assert(put(pool, &jobs[0]));
    wait_until(pool, 0); /* it is with the worker now */
    cr_assert(put(pool, &jobs[1]));
    cr_assert(hfd_pool_reserve(pool, false));
    cr_assert(!hfd_pool_reserve(pool, false), "a reserved place counts");
    hfd_pool_push(pool, &jobs[2]);
    cr_assert(!put(pool, &jobs[3]));
    cr_assert_eq(hfd_pool_busy(pool), 3);
    sem_post(&shared.gate);
    wait_until(pool, 1);
    cr_assert(put(pool, &jobs[4]));
    for (int i = 0; i < 3; i++) {
        sem_post(&shared.gate);
    }
    hfd_pool_free(pool);
    cr_assert_eq(shared.run, 4);
    cr_assert_eq(jobs[3].times, 0);
}

Test(pool, closed_it_refuses_but_keeps_its_promises, .timeout = 30) {
    struct shared shared = {0};
    struct job jobs[2] = {{&shared, NULL, 0}, {&shared, NULL, 0}};
    struct hfd_pool *pool = make(&shared, 3, 4);
    cr_assert(put(pool, &jobs[0]));
    cr_assert(hfd_pool_reserve(pool, false));
    hfd_pool_close(pool);
    cr_assert(!hfd_pool_reserve(pool, false));
    hfd_pool_push(pool, &jobs[1]);
    sem_post(&shared.gate);
    sem_post(&shared.gate);
    hfd_pool_free(pool);
    cr_assert_eq(shared.run, 2);
}

Test(pool, what_waits_can_be_dropped, .timeout = 30) {
    struct shared shared = {0};
    struct job jobs[4] = {{&shared, NULL, 0}, {&shared, NULL, 0}, {&shared, NULL, 0}, {&shared, NULL, 0}};
    struct hfd_pool *pool = make(&shared, 1, 4);
    cr_assert(put(pool, &jobs[0]));
    wait_until(pool, 0);
    for (int i = 1; i < 4; i++) {
        cr_assert(put(pool, &jobs[i]));
    }
    hfd_pool_drop_waiting(pool);
    cr_assert_eq(shared.dropped, 3);
    sem_post(&shared.gate);
    hfd_pool_free(pool);
    cr_assert_eq(shared.run, 1);
}

Test(pool, an_unsound_context_is_replaced, .timeout = 30) {
    struct shared shared = {.unsound_next = true};
    struct job jobs[3] = {{&shared, NULL, 0}, {&shared, NULL, 0}, {&shared, NULL, 0}};
    struct hfd_pool *pool = make(&shared, 1, 4);
    for (int i = 0; i < 3; i++) {
        cr_assert(put(pool, &jobs[i]));
        sem_post(&shared.gate);
    }
    hfd_pool_free(pool);
    cr_assert_eq(shared.run, 3);
    cr_assert_eq(shared.contexts_made, 2);
    cr_assert_eq(shared.contexts_freed, 2);
    cr_assert_eq(jobs[1].context, jobs[2].context);
}
