#include "pool.h"

#include <errno.h>
#include <pthread.h>
#include <stdlib.h>

struct hfd_pool {
    struct hfd_pool_config config;
    pthread_mutex_t lock;
    pthread_cond_t work;
    bool closed;
    size_t first, waiting, reserved, running; /* waiting + reserved <= places */
    size_t places;
    void **ring;
    size_t thread_count;
    pthread_t threads[];
};

static void *context_new(const struct hfd_pool *pool) {
    return pool->config.context_new ? pool->config.context_new(pool->config.ctx) : NULL;
}

static void context_free(const struct hfd_pool *pool, void *context) {
    if (pool->config.context_free) pool->config.context_free(context);
}

/* With the lock held. */
static void *take_first(struct hfd_pool *pool) {
    void *job = pool->ring[pool->first];
    pool->first = (pool->first + 1) % pool->places;
    pool->waiting--;
    return job;
}

/* The next job, or NULL when the pool is closed and everything promised has been taken. */
static void *wait_for_job(struct hfd_pool *pool) {
    void *job = NULL;
    pthread_mutex_lock(&pool->lock);
    while (pool->waiting == 0 && !(pool->closed && pool->reserved == 0)) {
        pthread_cond_wait(&pool->work, &pool->lock);
    }
    if (pool->waiting > 0) {
        job = take_first(pool);
        pool->running++;
    }
    pthread_mutex_unlock(&pool->lock);
    return job;
}

static void job_done(struct hfd_pool *pool) {
    pthread_mutex_lock(&pool->lock);
    pool->running--;
    pthread_mutex_unlock(&pool->lock);
}

static void *work(void *argument) {
    struct hfd_pool *pool = argument;
    void *context = context_new(pool);
    for (void *job = wait_for_job(pool); job != NULL; job = wait_for_job(pool)) {
        bool sound = pool->config.run(context, job);
        job_done(pool);
        if (sound) continue;
        context_free(pool, context);
        context = context_new(pool);
    }
    context_free(pool, context);
    return NULL;
}

static int start_threads(struct hfd_pool *pool) {
    pthread_attr_t attributes;
    int error = pthread_attr_init(&attributes);
    if (error) return error;
    if (pool->config.stack_bytes > 0)
        error = pthread_attr_setstacksize(&attributes, pool->config.stack_bytes);
    while (!error && pool->thread_count < pool->config.workers) {
        error = pthread_create(&pool->threads[pool->thread_count], &attributes, work, pool);
        if (!error) pool->thread_count++;
    }
    pthread_attr_destroy(&attributes);
    return error;
}

struct hfd_pool *hfd_pool_new(const struct hfd_pool_config *config) {
    struct hfd_pool *pool = calloc(1, sizeof *pool + config->workers * sizeof pool->threads[0]);
    if (pool) pool->ring = calloc(2 * config->queue_length, sizeof *pool->ring);
    if (!pool || !pool->ring) {
        free(pool);
        errno = ENOMEM;
        return NULL;
    }
    pool->config = *config;
    pool->places = 2 * config->queue_length;
    pthread_mutex_init(&pool->lock, NULL);
    pthread_cond_init(&pool->work, NULL);
    int error = start_threads(pool);
    if (error) {
        hfd_pool_free(pool);
        errno = error;
        return NULL;
    }
    return pool;
}

bool hfd_pool_reserve(struct hfd_pool *pool, bool goes_on) {
    pthread_mutex_lock(&pool->lock);
    size_t most = goes_on ? pool->places : pool->config.queue_length;
    bool accepted = !pool->closed && pool->waiting + pool->reserved < most;
    if (accepted) pool->reserved++;
    pthread_mutex_unlock(&pool->lock);
    return accepted;
}

void hfd_pool_push(struct hfd_pool *pool, void *job) {
    pthread_mutex_lock(&pool->lock);
    pool->ring[(pool->first + pool->waiting) % pool->places] = job;
    pool->reserved--;
    pool->waiting++;
    /* Closed: the last promised job may be what several threads are waiting for before they go. */
    if (pool->closed)
        pthread_cond_broadcast(&pool->work);
    else
        pthread_cond_signal(&pool->work);
    pthread_mutex_unlock(&pool->lock);
}

size_t hfd_pool_waiting(struct hfd_pool *pool) {
    pthread_mutex_lock(&pool->lock);
    size_t waiting = pool->waiting;
    pthread_mutex_unlock(&pool->lock);
    return waiting;
}

size_t hfd_pool_running(struct hfd_pool *pool) {
    pthread_mutex_lock(&pool->lock);
    size_t running = pool->running;
    pthread_mutex_unlock(&pool->lock);
    return running;
}

size_t hfd_pool_busy(struct hfd_pool *pool) {
    pthread_mutex_lock(&pool->lock);
    size_t busy = pool->waiting + pool->reserved + pool->running;
    pthread_mutex_unlock(&pool->lock);
    return busy;
}

void hfd_pool_close(struct hfd_pool *pool) {
    pthread_mutex_lock(&pool->lock);
    pool->closed = true;
    pthread_cond_broadcast(&pool->work);
    pthread_mutex_unlock(&pool->lock);
}

void hfd_pool_drop_waiting(struct hfd_pool *pool) {
    for (;;) {
        pthread_mutex_lock(&pool->lock);
        void *job = pool->waiting > 0 ? take_first(pool) : NULL;
        pthread_mutex_unlock(&pool->lock);
        if (job == NULL) return;
        pool->config.drop(job);
    }
}

void hfd_pool_free(struct hfd_pool *pool) {
    hfd_pool_close(pool);
    for (size_t i = 0; i < pool->thread_count; i++) {
        pthread_join(pool->threads[i], NULL);
    }
    pthread_cond_destroy(&pool->work);
    pthread_mutex_destroy(&pool->lock);
    free(pool->ring);
    free(pool);
}
