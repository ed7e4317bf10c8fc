/* The two clocks of the server: one for durations, one for dates. The core has none. */
#ifndef HFD_CLOCK_H
#define HFD_CLOCK_H

#include <stdint.h>

#define HFD_NS_PER_MS INT64_C(1000000)
#define HFD_NS_PER_S INT64_C(1000000000)
#define HFD_CLOCK_TEXT_SIZE 25

/* Never goes back; says nothing about the date. */
int64_t hfd_clock_monotonic_ns(void);
int64_t hfd_clock_unix_ms(void);
/* RFC 3339 in UTC with milliseconds: "2026-03-02T07:05:09.250Z". Years 0000 to 9999. */
void hfd_clock_text(int64_t unix_ms, char out[HFD_CLOCK_TEXT_SIZE]);

#endif
