#include <stdlib.h>
#include <sys/socket.h>
#include <time.h>

#include "../base/clock.h"
#include "inside.h"

static const long sweep_every_ms = 250;

void hfd_connection_deadline(struct hfd_connection *connection, int seconds) {
    if (!connection) return;
    int64_t deadline_ns = seconds > 0 ? hfd_clock_monotonic_ns() + seconds * HFD_NS_PER_S : INT64_MAX;
    atomic_store_explicit(&connection->deadline_ns, deadline_ns, memory_order_relaxed);
}

/* With the lock held: a connection leaves the list before its socket is closed, so no other file is hit. */
static void cut_expired(struct hfd_deadlines *deadlines) {
    int64_t now = hfd_clock_monotonic_ns();
    for (struct hfd_connection *c = deadlines->first; c; c = c->next) {
        if (atomic_load_explicit(&c->deadline_ns, memory_order_relaxed) > now) continue;
        atomic_store_explicit(&c->deadline_ns, INT64_MAX, memory_order_relaxed);
        atomic_store(&c->cut, true);
        atomic_fetch_add_explicit(&deadlines->cut, 1, memory_order_relaxed);
        shutdown(c->fd, SHUT_RDWR);
    }
}

static void *sweep(void *argument) {
    struct hfd_deadlines *deadlines = argument;
    pthread_mutex_lock(&deadlines->lock);
    while (!deadlines->stopping) {
        struct timespec until;
        clock_gettime(CLOCK_MONOTONIC, &until);
        until.tv_nsec += sweep_every_ms * HFD_NS_PER_MS;
        until.tv_sec += until.tv_nsec / HFD_NS_PER_S;
        until.tv_nsec %= HFD_NS_PER_S;
        pthread_cond_timedwait(&deadlines->wake, &deadlines->lock, &until);
        cut_expired(deadlines);
    }
    pthread_mutex_unlock(&deadlines->lock);
    return NULL;
}

bool hfd_deadlines_start(struct hfd_deadlines *deadlines, size_t stack_bytes) {
    pthread_condattr_t monotonic;
    pthread_attr_t attributes;
    pthread_mutex_init(&deadlines->lock, NULL);
    pthread_condattr_init(&monotonic);
    pthread_condattr_setclock(&monotonic, CLOCK_MONOTONIC);
    pthread_cond_init(&deadlines->wake, &monotonic);
    pthread_condattr_destroy(&monotonic);
    pthread_attr_init(&attributes);
    pthread_attr_setstacksize(&attributes, stack_bytes);
    deadlines->started = pthread_create(&deadlines->thread, &attributes, sweep, deadlines) == 0;
    pthread_attr_destroy(&attributes);
    return deadlines->started;
}

void hfd_deadlines_stop(struct hfd_deadlines *deadlines) {
    if (deadlines->started) {
        pthread_mutex_lock(&deadlines->lock);
        deadlines->stopping = true;
        pthread_cond_signal(&deadlines->wake);
        pthread_mutex_unlock(&deadlines->lock);
        pthread_join(deadlines->thread, NULL);
    }
    pthread_cond_destroy(&deadlines->wake);
    pthread_mutex_destroy(&deadlines->lock);
}

struct hfd_connection *hfd_deadlines_add(struct hfd_deadlines *deadlines, int fd) {
    struct hfd_connection *connection = calloc(1, sizeof *connection);
    if (!connection) return NULL;
    connection->fd = fd;
    atomic_init(&connection->deadline_ns, INT64_MAX);
    pthread_mutex_lock(&deadlines->lock);
    connection->next = deadlines->first;
    if (connection->next) connection->next->previous = connection;
    deadlines->first = connection;
    atomic_fetch_add_explicit(&deadlines->open, 1, memory_order_relaxed);
    pthread_mutex_unlock(&deadlines->lock);
    return connection;
}

void hfd_deadlines_remove(struct hfd_deadlines *deadlines, struct hfd_connection *connection) {
    if (!connection) return;
    pthread_mutex_lock(&deadlines->lock);
    if (connection->next) connection->next->previous = connection->previous;
    if (connection->previous)
        connection->previous->next = connection->next;
    else
        deadlines->first = connection->next;
    atomic_fetch_sub_explicit(&deadlines->open, 1, memory_order_relaxed);
    pthread_mutex_unlock(&deadlines->lock);
    free(connection);
}
