#include "arena.h"

#include <assert.h>
#include <stdalign.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct hf_arena_chunk {
    hf_arena_chunk *next;
    size_t used, room;
    alignas(max_align_t) unsigned char bytes[];
};

static const size_t least_chunk_bytes = 256;

static void exhausted(const hf_arena *arena) {
    if (arena->exhausted) arena->exhausted(arena->ctx);
    abort(); /* the handler must not return */
}

void hf_arena_init(hf_arena *arena, size_t chunk_bytes, size_t limit_bytes) {
    *arena = (hf_arena){
        .chunk_bytes = chunk_bytes < least_chunk_bytes ? least_chunk_bytes : chunk_bytes,
        .limit_bytes = limit_bytes,
    };
}

static size_t chunk_bytes_of(const hf_arena_chunk *chunk) {
    return sizeof *chunk + chunk->room;
}

static void drop(hf_arena *arena, hf_arena_chunk *chunk) {
    arena->held_bytes -= chunk_bytes_of(chunk);
    free(chunk);
}

void hf_arena_fini(hf_arena *arena) {
    while (arena->head) {
        hf_arena_chunk *chunk = arena->head;
        arena->head = chunk->next;
        drop(arena, chunk);
    }
}

hf_arena_mark hf_arena_here(const hf_arena *arena) {
    return (hf_arena_mark){arena->head, arena->head ? arena->head->used : 0};
}

void hf_arena_release(hf_arena *arena, hf_arena_mark mark) {
    while (arena->head != mark.head) {
        hf_arena_chunk *chunk = arena->head;
        arena->head = chunk->next;
        drop(arena, chunk);
    }
    if (arena->head) arena->head->used = mark.used;
}

static hf_arena_chunk *add_chunk(hf_arena *arena, size_t room) {
    if (room > SIZE_MAX - sizeof(hf_arena_chunk)) exhausted(arena);
    size_t bytes = sizeof(hf_arena_chunk) + room;
    if (arena->limit_bytes &&
        (bytes > arena->limit_bytes || arena->held_bytes > arena->limit_bytes - bytes)) {
        exhausted(arena);
    }
    hf_arena_chunk *chunk = malloc(bytes);
    if (!chunk) exhausted(arena);
    chunk->used = 0;
    chunk->room = room;
    chunk->next = arena->head;
    arena->head = chunk;
    arena->held_bytes += bytes;
    return chunk;
}

#ifdef HF_ARENA_PLAIN

/* One malloc per allocation, of the exact size: sanitizers see every overrun and every use after a reset. */
void hf_arena_reset(hf_arena *arena) {
    hf_arena_fini(arena);
}

void *hf_arena_room(hf_arena *arena, size_t size) {
    hf_arena_chunk *chunk = add_chunk(arena, size);
    chunk->used = size;
    return chunk->bytes;
}

#else

void hf_arena_reset(hf_arena *arena) {
    hf_arena_chunk *largest = arena->head;
    for (hf_arena_chunk *chunk = arena->head; chunk; chunk = chunk->next) {
        if (chunk->room > largest->room) largest = chunk;
    }
    for (hf_arena_chunk *chunk = arena->head, *next; chunk; chunk = next) {
        next = chunk->next;
        if (chunk != largest) drop(arena, chunk);
    }
    arena->head = largest;
    if (largest) {
        largest->next = NULL;
        largest->used = 0;
    }
}

void *hf_arena_room(hf_arena *arena, size_t size) {
    size_t align = alignof(max_align_t);
    if (size > SIZE_MAX - align) exhausted(arena);
    size_t need = (size + (size == 0) + align - 1) / align * align;
    hf_arena_chunk *chunk = arena->head;
    if (!chunk || chunk->room - chunk->used < need) {
        chunk = add_chunk(arena, need > arena->chunk_bytes ? need : arena->chunk_bytes);
    }
    void *at = chunk->bytes + chunk->used;
    chunk->used += need;
    return at;
}

#endif

void *hf_arena_alloc(hf_arena *arena, size_t size) {
    return memset(hf_arena_room(arena, size), 0, size);
}

void *hf_arena_array(hf_arena *arena, size_t count, size_t size) {
    assert(size > 0);
    if (count > SIZE_MAX / size) exhausted(arena);
    return hf_arena_alloc(arena, count * size);
}

char *hf_arena_strdup(hf_arena *arena, const char *text) {
    size_t bytes = strlen(text) + 1;
    return memcpy(hf_arena_room(arena, bytes), text, bytes);
}

char *hf_arena_printf(hf_arena *arena, const char *format, ...) {
    char small[256];
    va_list args, again;
    va_start(args, format);
    va_copy(again, args);
    int length = vsnprintf(small, sizeof small, format, args);
    va_end(args);
    if (length < 0) exhausted(arena); /* only on an encoding error or a result over INT_MAX */
    char *text = hf_arena_room(arena, (size_t)length + 1);
    if ((size_t)length < sizeof small) {
        memcpy(text, small, (size_t)length + 1);
    } else {
        vsnprintf(text, (size_t)length + 1, format, again);
    }
    va_end(again);
    return text;
}
