/* A reply that goes on: its bytes come from somebody who has them by and by. The door opens, reads and closes
 * it, always in its own threads; while there is nothing to read the reply sleeps and holds no thread. */
#ifndef HFD_STREAM_H
#define HFD_STREAM_H

#include <stddef.h>

#define HFD_STREAM_END ((ptrdiff_t)-1)
#define HFD_STREAM_CUT ((ptrdiff_t)-2) /* it cannot go on: the client shall see that it is not whole */

struct hfd_stream {
    /* Once, before the first read. */
    void (*open)(struct hfd_stream *stream);
    /* Up to `room` bytes, how many there are, or HFD_STREAM_END. 0: none now; `sleep` was called then, and
     * `wake` will be called once there are more, both under one lock of the source, so that no waking is
     * lost. */
    ptrdiff_t (*read)(struct hfd_stream *stream, char *out, size_t room);
    /* Once, after open, however the reply ended; no `wake` follows. */
    void (*close)(struct hfd_stream *stream);
    /* Set by the door. */
    void (*sleep)(void *door), (*wake)(void *door);
    void *door;
};

#endif
