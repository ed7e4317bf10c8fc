#include "limiter.h"

#include <pthread.h>
#include <stdlib.h>

#include "clock.h"

enum { SETS = 1024, WAYS = 4 };

/* The generic cell rate algorithm (ITU-T I.371, virtual scheduling): one instant tells the whole budget, that
 * at which it will be full. */
struct place {
    uint64_t who;
    int64_t full_at_ns;
};

struct hfd_limiter {
    pthread_mutex_t lock;
    long quota;
    struct place places[SETS][WAYS];
};

static const int64_t window_ns = HFD_LIMITER_WINDOW_S * HFD_NS_PER_S;

struct hfd_limiter *hfd_limiter_new(long per_minute) {
    struct hfd_limiter *limiter = calloc(1, sizeof *limiter);
    if (limiter == NULL) return NULL;
    limiter->quota = per_minute;
    if (pthread_mutex_init(&limiter->lock, NULL) != 0) {
        free(limiter);
        return NULL;
    }
    return limiter;
}

void hfd_limiter_free(struct hfd_limiter *limiter) {
    if (limiter == NULL) return;
    pthread_mutex_destroy(&limiter->lock);
    free(limiter);
}

static struct place *find(struct hfd_limiter *limiter, uint64_t who, int64_t now_ns) {
    struct place *set = limiter->places[who % SETS], *fullest = set;
    for (int i = 0; i < WAYS; i++) {
        if (set[i].who == who) return &set[i];
        if (set[i].full_at_ns < fullest->full_at_ns) fullest = &set[i];
    }
    *fullest = (struct place){who, now_ns};
    return fullest;
}

static long seconds(int64_t ns) {
    return ns > 0 ? (long)((ns + HFD_NS_PER_S - 1) / HFD_NS_PER_S) : 0;
}

struct hfd_budget hfd_limiter_take(struct hfd_limiter *limiter, uint64_t who, int64_t now_ns) {
    const int64_t interval_ns = window_ns / limiter->quota;
    pthread_mutex_lock(&limiter->lock);
    struct place *place = find(limiter, who, now_ns);
    int64_t full_at_ns = place->full_at_ns > now_ns ? place->full_at_ns : now_ns;
    const int64_t over_ns = full_at_ns + interval_ns - (now_ns + window_ns);
    if (over_ns <= 0) place->full_at_ns = full_at_ns += interval_ns;
    pthread_mutex_unlock(&limiter->lock);
    return (struct hfd_budget){.allowed = over_ns <= 0,
        .quota = limiter->quota,
        .left = (long)((now_ns + window_ns - full_at_ns) / interval_ns),
        .full_s = seconds(full_at_ns - now_ns),
        .retry_s = seconds(over_ns)};
}

void hfd_limiter_give(struct hfd_limiter *limiter, uint64_t who, int64_t now_ns) {
    pthread_mutex_lock(&limiter->lock);
    find(limiter, who, now_ns)->full_at_ns -= window_ns / limiter->quota;
    pthread_mutex_unlock(&limiter->lock);
}
