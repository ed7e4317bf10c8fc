/* A fixed set of threads behind a bounded queue. Each thread makes a context of its own (its database
 * connection) and owns it for life. A full queue is said at once, so that the asker can be turned away early.
 */
#ifndef HFD_POOL_H
#define HFD_POOL_H

#include <stdbool.h>
#include <stddef.h>

struct hfd_pool;

struct hfd_pool_config {
    size_t workers, queue_length, stack_bytes;
    /* Called in the worker's thread; NULL for contexts that are not needed. */
    void *(*context_new)(void *ctx);
    void (*context_free)(void *context);
    void *ctx;
    /* False: the context can no longer be trusted; it is freed and a new one is made before the next job. */
    bool (*run)(void *context, void *job);
    /* Called instead of run for jobs that are still queued when the pool is told to drop them. */
    void (*drop)(void *job);
};

/* NULL: no memory or no thread (errno). */
struct hfd_pool *hfd_pool_new(const struct hfd_pool_config *config);

/* In two steps, because the asker has something to do between being accepted and being served: a reserved
 * place is always given back by exactly one hfd_pool_push. False: no room, or closed. What goes on with
 * something begun finds as many places again: to begin nothing new is the way out of too much work. */
bool hfd_pool_reserve(struct hfd_pool *pool, bool goes_on);
void hfd_pool_push(struct hfd_pool *pool, void *job);

size_t hfd_pool_waiting(struct hfd_pool *pool);
size_t hfd_pool_running(struct hfd_pool *pool);
/* Waiting or being run. */
size_t hfd_pool_busy(struct hfd_pool *pool);
/* No further reservations; what is queued is still run. */
void hfd_pool_close(struct hfd_pool *pool);
/* Gives what is still queued to `drop`, in the calling thread. */
void hfd_pool_drop_waiting(struct hfd_pool *pool);
/* Closes, runs what is queued, joins the threads. */
void hfd_pool_free(struct hfd_pool *pool);

#endif
