/* Memory of one computation. Everything the core returns lives in the caller's arena and dies with it in
 * one step; nothing is freed singly. Chunks come from malloc; an arena never returns NULL: when the limit is
 * reached or malloc fails it calls `exhausted`, which must not return (default: abort). */
#ifndef HF_ARENA_H
#define HF_ARENA_H

#include <stddef.h>

typedef struct hf_arena_chunk hf_arena_chunk;

typedef struct hf_arena {
    hf_arena_chunk *head;         /* newest chunk */
    size_t chunk_bytes;           /* usual size of a chunk */
    size_t limit_bytes;           /* total that may be held; 0 = no limit */
    size_t held_bytes;            /* sum of all chunks */
    void (*exhausted)(void *ctx); /* called instead of returning NULL; must not return */
    void *ctx;
} hf_arena;

void hf_arena_init(hf_arena *arena, size_t chunk_bytes, size_t limit_bytes);
/* Frees every chunk. The arena may be used again afterwards. */
void hf_arena_fini(hf_arena *arena);
/* Forgets all allocations but keeps the largest chunk for reuse: steady state makes no malloc. */
void hf_arena_reset(hf_arena *arena);
/* A place to come back to: releasing it frees all that was allocated since. */
typedef struct hf_arena_mark {
    hf_arena_chunk *head;
    size_t used;
} hf_arena_mark;
hf_arena_mark hf_arena_here(const hf_arena *arena);
void hf_arena_release(hf_arena *arena, hf_arena_mark mark);
/* Zeroed memory, aligned for any type; size 0 gives a unique valid pointer. */
void *hf_arena_alloc(hf_arena *arena, size_t size);
/* The same with whatever bytes are there: for what is written before it is read. */
void *hf_arena_room(hf_arena *arena, size_t size);
/* count * size with overflow check (overflow counts as exhausted). */
void *hf_arena_array(hf_arena *arena, size_t count, size_t size);
char *hf_arena_strdup(hf_arena *arena, const char *text);
char *hf_arena_printf(hf_arena *arena, const char *format, ...) __attribute__((format(printf, 2, 3)));

#define HF_NEW(arena, type) ((type *)hf_arena_alloc((arena), sizeof(type)))
#define HF_NEW_ARRAY(arena, type, count) ((type *)hf_arena_array((arena), (count), sizeof(type)))

#endif
