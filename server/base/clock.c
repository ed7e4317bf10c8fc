#include "clock.h"

#include <stdio.h>
#include <time.h>

int64_t hfd_clock_monotonic_ns(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * HFD_NS_PER_S + now.tv_nsec;
}

int64_t hfd_clock_unix_ms(void) {
    struct timespec now;
    clock_gettime(CLOCK_REALTIME, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / HFD_NS_PER_MS;
}

void hfd_clock_text(int64_t unix_ms, char out[HFD_CLOCK_TEXT_SIZE]) {
    int64_t milliseconds = (unix_ms % 1000 + 1000) % 1000;
    time_t seconds = (time_t)((unix_ms - milliseconds) / 1000);
    struct tm utc;
    /* The remainders tell the compiler that the text fits; inside the years promised they change nothing. */
    gmtime_r(&seconds, &utc);
    snprintf(out, HFD_CLOCK_TEXT_SIZE, "%04u-%02u-%02uT%02u:%02u:%02u.%03uZ",
        (unsigned)(utc.tm_year + 1900) % 10000U, (unsigned)(utc.tm_mon + 1) % 100U,
        (unsigned)utc.tm_mday % 100U, (unsigned)utc.tm_hour % 100U, (unsigned)utc.tm_min % 100U,
        (unsigned)utc.tm_sec % 100U, (unsigned)milliseconds % 1000U);
}
