/* Replies that go on (base/stream.h). A sleeping one is a suspended connection: it costs its memory and no
 * thread. */
#include <sys/socket.h>

#include "../base/clock.h"
#include "inside.h"

/* What a client has not taken waits in the kernel: little, so that many slow ones are no burden. */
static const int unsent_max_bytes = 16384;
/* Of events few come at a time, of a long reply all that can. */
static const size_t event_bytes = 1024, piece_bytes = 32768;

static void sleep_now(void *argument) {
    struct hfd_exchange *exchange = argument;
    /* All that was handed out has been taken: a client may listen as long as it likes. */
    hfd_connection_deadline(exchange->connection, 0);
    MHD_suspend_connection(exchange->mhd);
}

static void wake_up(void *argument) {
    struct hfd_exchange *exchange = argument;
    MHD_resume_connection(exchange->mhd);
}

static ssize_t read_stream(void *argument, uint64_t position, char *out, size_t room) {
    (void)position;
    struct hfd_exchange *exchange = argument;
    struct hfd_stream *stream = exchange->reply.stream;
    ptrdiff_t count = stream->read(stream, out, room);
    if (count == HFD_STREAM_END) return MHD_CONTENT_READER_END_OF_STREAM;
    if (count == HFD_STREAM_CUT) return MHD_CONTENT_READER_END_WITH_ERROR;
    /* A client that takes nothing of this for so long is cut off. */
    if (count > 0) hfd_connection_deadline(exchange->connection, exchange->http->config.request_deadline_s);
    return count;
}

enum MHD_Result hfd_streaming_send(struct hfd_exchange *exchange) {
    struct hfd_stream *stream = exchange->reply.stream;
    struct MHD_Response *response = MHD_create_response_from_callback(
        MHD_SIZE_UNKNOWN, exchange->pieces ? piece_bytes : event_bytes, read_stream, exchange, NULL);
    if (!response) return MHD_NO;
    hfd_reply_fields(exchange, response);
    if (exchange->connection && !exchange->pieces)
        setsockopt(
            exchange->connection->fd, SOL_SOCKET, SO_SNDBUF, &unsent_max_bytes, sizeof unsent_max_bytes);
    exchange->state = HFD_SENT;
    exchange->streamed_ns = hfd_clock_monotonic_ns();
    hfd_connection_deadline(exchange->connection, exchange->http->config.request_deadline_s);
    stream->sleep = sleep_now;
    stream->wake = wake_up;
    stream->door = exchange;
    stream->open(stream);
    enum MHD_Result result = MHD_queue_response(exchange->mhd, (unsigned)exchange->reply.status, response);
    MHD_destroy_response(response);
    return result;
}

void hfd_streaming_end(struct hfd_exchange *exchange) {
    if (exchange->streamed_ns || exchange->pieces) exchange->reply.stream->close(exchange->reply.stream);
}
