/* Replies too long to be held at once: when a piece has left, the request is asked again for the next one, by
 * a worker as any request is. The memory is that of two pieces. */
#include <stdlib.h>
#include <string.h>

#include "../base/clock.h"
#include "inside.h"

/* A piece lives in one arena, the one before it in the other: what it says of the next is needed to ask for
 * it. */
struct hfd_pieces {
    struct hfd_stream stream;
    struct hfd_exchange *exchange;
    hf_arena arenas[2];
    int turn;
    struct hfd_request request;
    struct hfd_reply piece;
    size_t sent;
    bool broken; /* no more can be had: the client must not take what it has for all */
};

static void open_pieces(struct hfd_stream *stream) {
    (void)stream;
}

/* The connection sleeps before the job is pushed, so it cannot be woken too early. */
static bool ask(struct hfd_pieces *pieces) {
    struct hfd_exchange *exchange = pieces->exchange;
    const struct hfd_http_config *config = &exchange->http->config;
    if (!config->reserve(config->queue, true)) return false;
    pieces->stream.sleep(pieces->stream.door);
    exchange->queued_ns = hfd_clock_monotonic_ns();
    config->push(config->queue, exchange);
    return true;
}

static ptrdiff_t read_pieces(struct hfd_stream *stream, char *out, size_t room) {
    struct hfd_pieces *pieces = (struct hfd_pieces *)stream; /* its first member */
    const struct hfd_reply *piece = &pieces->piece;
    size_t left = piece->body_len - pieces->sent, count = left < room ? left : room;
    if (pieces->broken) return HFD_STREAM_CUT;
    if (count > 0) {
        memcpy(out, piece->body + pieces->sent, count);
        pieces->sent += count;
        return (ptrdiff_t)count;
    }
    if (piece->next == NULL) return HFD_STREAM_END;
    return ask(pieces) ? 0 : HFD_STREAM_CUT;
}

static void close_pieces(struct hfd_stream *stream) {
    struct hfd_pieces *pieces = (struct hfd_pieces *)stream;
    for (int i = 0; i < 2; i++)
        hf_arena_fini(&pieces->arenas[i]);
    free(pieces);
}

bool hfd_pieces_begin(struct hfd_exchange *exchange) {
    struct hfd_pieces *pieces = calloc(1, sizeof *pieces);
    if (pieces == NULL) return false;
    pieces->stream = (struct hfd_stream){.open = open_pieces, .read = read_pieces, .close = close_pieces};
    pieces->exchange = exchange;
    for (int i = 0; i < 2; i++)
        hf_arena_init(
            &pieces->arenas[i], exchange->arena.chunk_bytes, exchange->http->config.max_memory_bytes);
    pieces->request = exchange->request;
    pieces->piece = exchange->reply;
    exchange->pieces = pieces;
    exchange->reply.stream = &pieces->stream;
    return true;
}

/* ---- in a worker's thread ---- */

bool hfd_pieces_work(void *worker, struct hfd_exchange *exchange) {
    struct hfd_pieces *pieces = exchange->pieces;
    pieces->turn = 1 - pieces->turn;
    hf_arena *arena = &pieces->arenas[pieces->turn];
    hf_arena_reset(arena);
    pieces->request.arena = arena;
    pieces->request.continues = pieces->piece.next;
    pieces->piece = (struct hfd_reply){0};
    pieces->sent = 0;
    bool finished = hfd_handler_run(exchange->http->config.handler, worker, &pieces->request, &pieces->piece);
    pieces->broken = !finished || pieces->piece.status != 200;
    if (!pieces->broken && pieces->piece.trace)
        exchange->http->config.audit(exchange->http->config.auditor, exchange);
    else
        hfd_pieces_ready(exchange, !pieces->broken);
    return finished;
}

const struct hfd_trace *hfd_pieces_trace(const struct hfd_exchange *exchange) {
    return exchange->pieces->piece.trace;
}

void hfd_pieces_ready(struct hfd_exchange *exchange, bool good) {
    struct hfd_pieces *pieces = exchange->pieces;
    if (!good) pieces->broken = true;
    pieces->stream.wake(pieces->stream.door);
}
