/* A thread that does one thing over and over, until it is freed. */
#ifndef HFD_TICKER_H
#define HFD_TICKER_H

#include <stdint.h>

struct hfd_ticker;

/* `work` runs on the ticker's thread, at once and then `pause_ns` after each end. NULL: no thread to be had.
 */
struct hfd_ticker *hfd_ticker_new(int64_t pause_ns, void (*work)(void *ctx), void *ctx);
/* Waits for the work in hand, and does it once more. */
void hfd_ticker_free(struct hfd_ticker *ticker);

#endif
