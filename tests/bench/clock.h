/* Time of the thread's own processor, so that a busy machine does not count. */
#ifndef BENCH_CLOCK_H
#define BENCH_CLOCK_H

#include <time.h>

static inline double bench_cpu_seconds(void) {
    struct timespec t;
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

#endif
