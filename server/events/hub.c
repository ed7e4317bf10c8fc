#include "hub.h"

#include <inttypes.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../base/clock.h"
#include "../base/log.h"
#include "../store/store.h"
#include "event.h"

/* Events of a clinic that are at hand: how far a listener may fall behind. */
#define RING_LENGTH 1024
#define READ_AT_ONCE "256"

static const int64_t look_ns = 1 * HFD_NS_PER_S;
static const int64_t beat_ns = 15 * HFD_NS_PER_S;
static const int64_t trim_ns = 600 * HFD_NS_PER_S;
/* A comment: it tells proxies that the stream lives, and us whether the client does. */
static const char beat_text[] = ":\n\n";

struct message {
    char *text;
    size_t length;
    const char *type; /* one of hfd_event_types; NULL: none of those */
};

/* One clinic's. Event p stands at ring[p % RING_LENGTH] when first <= p <= last. */
struct feed {
    char clinic_id[37];
    int64_t first, last;
    struct message ring[RING_LENGTH];
    struct stream *streams;
    struct feed *next;
};

struct stream {
    struct hfd_stream door; /* first */
    struct hfd_hub *hub;
    struct feed *feed;
    struct stream *next, *previous;
    struct hfd_listener listener;
    int64_t position; /* of the event that comes next */
    size_t told;      /* bytes of the backlog or, when that is through, of the event at `position` */
    bool through, asleep, beat, ended;
};

struct hfd_hub {
    struct hfd_store *store;
    struct hfd_hub_config config;
    int64_t looked_ns, beaten_ns, trimmed_ns;
    pthread_mutex_t lock; /* of all that follows, and of every open stream */
    struct feed *feeds;
    bool ending;
    uint64_t listening, dropped;
};

struct hfd_hub *hfd_hub_new(const struct hfd_hub_config *config) {
    struct hfd_hub *hub = calloc(1, sizeof *hub);
    if (hub == NULL) return NULL;
    hub->config = *config;
    hub->store = hfd_store_new(config->database);
    if (hub->store == NULL) {
        free(hub);
        return NULL;
    }
    pthread_mutex_init(&hub->lock, NULL);
    hub->beaten_ns = hfd_clock_monotonic_ns();
    return hub;
}

void hfd_hub_free(struct hfd_hub *hub) {
    if (hub == NULL) return;
    pthread_mutex_destroy(&hub->lock);
    hfd_store_free(hub->store);
    free(hub);
}

/* ---------------------------------------------------------------- one stream, in the door's threads */

static struct feed *find_feed(const struct hfd_hub *hub, const char *clinic_id) {
    struct feed *feed = hub->feeds;
    while (feed != NULL && strcmp(feed->clinic_id, clinic_id) != 0)
        feed = feed->next;
    return feed;
}

static struct feed *new_feed(struct hfd_hub *hub, const char *clinic_id, int64_t last) {
    struct feed *feed = calloc(1, sizeof *feed);
    if (feed == NULL) return NULL;
    snprintf(feed->clinic_id, sizeof feed->clinic_id, "%s", clinic_id);
    feed->first = last + 1;
    feed->last = last;
    feed->next = hub->feeds;
    hub->feeds = feed;
    return feed;
}

static void free_feed(struct hfd_hub *hub, struct feed *feed) {
    struct feed **at = &hub->feeds;
    while (*at != feed)
        at = &(*at)->next;
    *at = feed->next;
    for (size_t i = 0; i < RING_LENGTH; i++)
        free(feed->ring[i].text);
    free(feed);
}

static void open_stream(struct hfd_stream *door) {
    struct stream *s = (struct stream *)door;
    struct hfd_hub *hub = s->hub;
    pthread_mutex_lock(&hub->lock);
    struct feed *feed = find_feed(hub, s->listener.clinic_id);
    if (feed == NULL) feed = new_feed(hub, s->listener.clinic_id, s->listener.after);
    s->ended = hub->ending || feed == NULL;
    if (feed != NULL) {
        s->feed = feed;
        s->next = feed->streams;
        if (s->next != NULL) s->next->previous = s;
        feed->streams = s;
        hub->listening++;
    }
    pthread_mutex_unlock(&hub->lock);
}

static void close_stream(struct hfd_stream *door) {
    struct stream *s = (struct stream *)door;
    struct feed *feed = s->feed;
    if (feed == NULL) return;
    pthread_mutex_lock(&s->hub->lock);
    if (s->next != NULL) s->next->previous = s->previous;
    if (s->previous != NULL)
        s->previous->next = s->next;
    else
        feed->streams = s->next;
    if (feed->streams == NULL) free_feed(s->hub, feed);
    s->hub->listening--;
    pthread_mutex_unlock(&s->hub->lock);
}

static bool is_asked_for(const struct stream *s, const struct message *message) {
    if (s->listener.types == NULL) return true;
    for (size_t i = 0; s->listener.types[i] != NULL; i++)
        if (message->type != NULL && strcmp(s->listener.types[i], message->type) == 0) return true;
    return false;
}

/* As much of `text` as has room; true when that was all of it. */
static bool put(struct stream *s, const char *text, size_t length, char *out, size_t room, size_t *used) {
    size_t left = length - s->told, take = left < room - *used ? left : room - *used;
    memcpy(out + *used, text + s->told, take);
    *used += take;
    s->told = take < left ? s->told + take : 0;
    return take == left;
}

static size_t put_events(struct stream *s, char *out, size_t room) {
    size_t used = 0;
    struct feed *feed = s->feed;
    while (used < room && s->position >= feed->first && s->position <= feed->last) {
        const struct message *message = &feed->ring[s->position % RING_LENGTH];
        if (is_asked_for(s, message) && !put(s, message->text, message->length, out, room, &used)) break;
        s->position++;
    }
    return used;
}

static ptrdiff_t read_locked(struct stream *s, char *out, size_t room) {
    size_t used = 0;
    if (!s->through) {
        s->through = put(s, s->listener.backlog.text, s->listener.backlog.length, out, room, &used);
        if (used > 0) return (ptrdiff_t)used;
    }
    if (s->ended || s->listener.ends) return HFD_STREAM_END;
    if (s->position < s->feed->first) {
        s->hub->dropped++;
        return HFD_STREAM_END;
    }
    used = put_events(s, out, room);
    if (used == 0 && s->beat && room >= sizeof beat_text) {
        used = sizeof beat_text - 1;
        memcpy(out, beat_text, used);
    }
    s->beat = false;
    if (used > 0) return (ptrdiff_t)used;
    s->asleep = true;
    s->door.sleep(s->door.door);
    return 0;
}

static ptrdiff_t read_stream(struct hfd_stream *door, char *out, size_t room) {
    struct stream *s = (struct stream *)door;
    if (s->feed == NULL) return HFD_STREAM_END;
    pthread_mutex_lock(&s->hub->lock);
    ptrdiff_t count = read_locked(s, out, room);
    pthread_mutex_unlock(&s->hub->lock);
    return count;
}

struct hfd_stream *hfd_hub_listen(struct hfd_hub *hub, hf_arena *arena, const struct hfd_listener *listener) {
    struct stream *s = HF_NEW(arena, struct stream);
    *s = (struct stream){.door = {.open = open_stream, .read = read_stream, .close = close_stream},
        .hub = hub,
        .listener = *listener,
        .position = listener->after + 1};
    return &s->door;
}

/* ---------------------------------------------------------------- the hub's thread */

static void wake(struct stream *s) {
    if (!s->asleep) return;
    s->asleep = false;
    s->door.wake(s->door.door);
}

static bool call(struct hfd_hub *hub, hf_arena *arena, const struct hfd_statement *statement,
    const char *const *params, struct hfd_rows *rows) {
    struct hfd_call one = {.statement = statement, .params = params};
    struct hfd_store_error error;
    enum hfd_store_status status = hfd_store_alone(hub->store, &one, arena, &error);
    *rows = one.rows;
    /* A database that is away is the connection's to tell. */
    if (status != HFD_STORE_OK && status != HFD_STORE_DOWN)
        hfd_log(HFD_LOG_ERROR, "events not carried on", HFD_LOG_TEXT("statement", statement->name),
            HFD_LOG_TEXT("sqlstate", error.sqlstate));
    return status == HFD_STORE_OK;
}

static void seal(struct hfd_hub *hub, hf_arena *arena) {
    static const struct hfd_statement statement = {"seal-events", "select holdfast.seal_events()", 0};
    struct hfd_rows rows;
    while (call(hub, arena, &statement, NULL, &rows) && strtol(hfd_cell(&rows, 0, 0), NULL, 10) >= 1000)
        continue;
}

static const char *known_type(const char *type) {
    for (size_t i = 0; hfd_event_types[i] != NULL; i++)
        if (strcmp(hfd_event_types[i], type) == 0) return hfd_event_types[i];
    return NULL;
}

/* One that is not the next, or for which there is no memory, is left out and read again. */
static void append(struct feed *feed, const char *const *cells, hf_arena *arena) {
    struct hfd_event event = hfd_event_of(cells);
    if (strtoll(event.position, NULL, 10) != feed->last + 1) return;
    struct hfd_buf text;
    hfd_buf_init(&text, arena, 384);
    hfd_event_write_message(&text, &event, feed->clinic_id);
    char *kept = malloc(text.length);
    if (kept == NULL) return;
    memcpy(kept, text.text, text.length);
    struct message *place = &feed->ring[++feed->last % RING_LENGTH];
    free(place->text);
    *place = (struct message){kept, text.length, known_type(event.type)};
    if (feed->last - feed->first >= RING_LENGTH) feed->first = feed->last - RING_LENGTH + 1;
}

/* After a great many changes at once the crowd of listeners sets the pace, so that not all of them are sent
 * away; a few slow ones do not. */
static bool is_crowded(const struct feed *feed) {
    size_t all = 0, behind = 0;
    for (const struct stream *s = feed->streams; s != NULL; s = s->next) {
        all++;
        behind += feed->last - s->position > RING_LENGTH / 2;
    }
    return 8 * behind > all;
}

/* What is known of each clinic, as the arrays that events_since() takes. False: nobody listens, or all are
 * busy. */
static bool known(struct hfd_hub *hub, hf_arena *arena, const char *params[3]) {
    struct hfd_buf clinics, positions;
    hfd_buf_init(&clinics, arena, 256);
    hfd_buf_init(&positions, arena, 128);
    pthread_mutex_lock(&hub->lock);
    for (const struct feed *feed = hub->feeds; feed != NULL; feed = feed->next) {
        if (is_crowded(feed)) continue;
        hfd_buf_printf(&clinics, "%c%s", clinics.length > 0 ? ',' : '{', feed->clinic_id);
        hfd_buf_printf(&positions, "%c%" PRId64, positions.length > 0 ? ',' : '{', feed->last);
    }
    pthread_mutex_unlock(&hub->lock);
    hfd_buf_char(&clinics, '}');
    hfd_buf_char(&positions, '}');
    params[0] = clinics.text;
    params[1] = positions.text;
    params[2] = READ_AT_ONCE;
    return clinics.length > 1;
}

static void carry_on(struct hfd_hub *hub, hf_arena *arena) {
    static const struct hfd_statement since = {"events-since",
        "select e.clinic_id, " HFD_EVENT_COLUMNS
        " from holdfast.events_since($1::uuid[], $2::bigint[], $3) e",
        3};
    const char *params[3];
    struct hfd_rows rows;
    if (!known(hub, arena, params) || !call(hub, arena, &since, params, &rows)) return;
    pthread_mutex_lock(&hub->lock);
    for (size_t i = 0; i < rows.row_count; i++) {
        /* Gone, or another than that which was asked for, when its listeners have left meanwhile. */
        struct feed *feed = find_feed(hub, hfd_cell(&rows, i, 0));
        if (feed != NULL) append(feed, rows.cells + i * rows.column_count + 1, arena);
    }
    for (struct feed *feed = hub->feeds; feed != NULL; feed = feed->next)
        for (struct stream *s = feed->streams; s != NULL; s = s->next)
            if (s->position <= feed->last) wake(s);
    pthread_mutex_unlock(&hub->lock);
}

static bool is_among(const struct hfd_rows *rows, const char *digest) {
    for (size_t i = 0; i < rows->row_count; i++)
        if (strcmp(hfd_cell(rows, i, 0), digest) == 0) return true;
    return false;
}

/* Once each: many listeners share one credential. */
static void put_digest(struct hfd_buf *digests, const char *digest) {
    if (strstr(digests->text, digest) == NULL)
        hfd_buf_printf(digests, "%c%s", digests->length > 0 ? ',' : '{', digest);
}

/* Ends the streams of bearers that would not be let in any more. */
static void look_at_bearers(struct hfd_hub *hub, hf_arena *arena) {
    static const struct hfd_statement in_force = {"in-force", "select holdfast.in_force($1::text[])", 1};
    struct hfd_buf digests;
    hfd_buf_init(&digests, arena, 256);
    pthread_mutex_lock(&hub->lock);
    for (const struct feed *feed = hub->feeds; feed != NULL; feed = feed->next)
        for (const struct stream *s = feed->streams; s != NULL; s = s->next)
            put_digest(&digests, s->listener.digest_hex);
    pthread_mutex_unlock(&hub->lock);
    if (digests.length == 0) return;
    hfd_buf_char(&digests, '}');
    const char *asked = digests.text;
    struct hfd_rows good;
    if (!call(hub, arena, &in_force, &asked, &good)) return;
    pthread_mutex_lock(&hub->lock);
    for (struct feed *feed = hub->feeds; feed != NULL; feed = feed->next)
        for (struct stream *s = feed->streams; s != NULL; s = s->next) {
            /* Who came after the question was asked waits for the next one. */
            if (strstr(asked, s->listener.digest_hex) == NULL || is_among(&good, s->listener.digest_hex))
                continue;
            s->ended = true;
            wake(s);
        }
    pthread_mutex_unlock(&hub->lock);
}

static void for_all(struct hfd_hub *hub, void (*act)(struct stream *s)) {
    pthread_mutex_lock(&hub->lock);
    for (struct feed *feed = hub->feeds; feed != NULL; feed = feed->next)
        for (struct stream *s = feed->streams; s != NULL; s = s->next)
            act(s);
    pthread_mutex_unlock(&hub->lock);
}

static void beat(struct stream *s) {
    s->beat = true;
    wake(s);
}

static void end(struct stream *s) {
    s->ended = true;
    wake(s);
}

static void trim(struct hfd_hub *hub, hf_arena *arena) {
    static const struct hfd_statement statement = {"trim-events", "select holdfast.trim_events($1)", 1};
    const char *days = hf_arena_printf(arena, "%d", hub->config.keep_days);
    struct hfd_rows rows;
    while (call(hub, arena, &statement, &days, &rows) && strtol(hfd_cell(&rows, 0, 0), NULL, 10) >= 5000)
        continue;
}

static bool is_due(int64_t *last_ns, int64_t every_ns) {
    int64_t now_ns = hfd_clock_monotonic_ns();
    if (*last_ns != 0 && now_ns - *last_ns < every_ns) return false;
    *last_ns = now_ns;
    return true;
}

void hfd_hub_work(void *argument) {
    struct hfd_hub *hub = argument;
    hf_arena arena;
    hf_arena_init(&arena, 16384, 0);
    seal(hub, &arena);
    carry_on(hub, &arena);
    if (is_due(&hub->looked_ns, look_ns)) look_at_bearers(hub, &arena);
    if (is_due(&hub->beaten_ns, beat_ns)) for_all(hub, beat);
    if (is_due(&hub->trimmed_ns, trim_ns)) trim(hub, &arena);
    hf_arena_fini(&arena);
}

void hfd_hub_end_streams(struct hfd_hub *hub) {
    pthread_mutex_lock(&hub->lock);
    hub->ending = true;
    pthread_mutex_unlock(&hub->lock);
    for_all(hub, end);
}

uint64_t hfd_hub_listening(struct hfd_hub *hub) {
    pthread_mutex_lock(&hub->lock);
    uint64_t count = hub->listening;
    pthread_mutex_unlock(&hub->lock);
    return count;
}

uint64_t hfd_hub_dropped(struct hfd_hub *hub) {
    pthread_mutex_lock(&hub->lock);
    uint64_t count = hub->dropped;
    pthread_mutex_unlock(&hub->lock);
    return count;
}
