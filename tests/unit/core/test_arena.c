#include "../../../core/arena.h"

#include <criterion/criterion.h>
#include <setjmp.h>
#include <signal.h>
#include <stdalign.h>
#include <stdint.h>
#include <string.h>

/* What arena.h promises. Arithmetic only: nothing to look up. */

/* A malloc that is refused returns NULL under the sanitizer too. */
const char *__asan_default_options(void);
const char *__asan_default_options(void) {
    return "allocator_may_return_null=1";
}

static bool is_zero(const void *at, size_t size) {
    const unsigned char *bytes = at;
    for (size_t i = 0; i < size; i++)
        if (bytes[i]) return false;
    return true;
}

Test(arena, memory_is_zeroed_aligned_and_apart) {
    hf_arena arena;
    hf_arena_init(&arena, 1024, 0);
    unsigned char *blocks[200];
    for (size_t i = 0; i < 200; i++) {
        blocks[i] = hf_arena_alloc(&arena, i + 1);
        cr_assert(is_zero(blocks[i], i + 1), "block %zu", i);
        cr_assert_eq((uintptr_t)blocks[i] % alignof(max_align_t), 0, "block %zu", i);
        memset(blocks[i], (int)(i % 250) + 1, i + 1);
    }
    for (size_t i = 0; i < 200; i++)
        for (size_t k = 0; k <= i; k++)
            cr_assert_eq(blocks[i][k], i % 250 + 1, "block %zu was written over", i);
    hf_arena_fini(&arena);
    cr_assert_eq(arena.held_bytes, 0);
}

Test(arena, empty_blocks_are_unique) {
    hf_arena arena;
    hf_arena_init(&arena, 1024, 0);
    void *a = hf_arena_alloc(&arena, 0), *b = hf_arena_alloc(&arena, 0), *c = hf_arena_alloc(&arena, 8);
    cr_assert(a && b && a != b && b != c);
    hf_arena_fini(&arena);
}

Test(arena, a_block_larger_than_a_chunk_fits) {
    hf_arena arena;
    hf_arena_init(&arena, 512, 0);
    unsigned char *large = hf_arena_alloc(&arena, 100000);
    memset(large, 7, 100000);
    cr_assert(is_zero(hf_arena_alloc(&arena, 400), 400));
    cr_assert(arena.held_bytes >= 100400);
    hf_arena_fini(&arena);
}

Test(arena, second_life_is_zeroed_and_makes_no_malloc) {
    hf_arena arena;
    hf_arena_init(&arena, 512, 0);
    memset(hf_arena_alloc(&arena, 4000), 0xff, 4000);
    hf_arena_reset(&arena);
    size_t kept = arena.held_bytes;
    unsigned char *again = hf_arena_alloc(&arena, 4000);
    cr_assert(is_zero(again, 4000));
#ifdef HF_ARENA_PLAIN
    cr_assert_eq(kept, 0);
#else
    cr_assert_eq(arena.held_bytes, kept, "the largest chunk is reused");
#endif
    hf_arena_fini(&arena);
    cr_assert(is_zero(hf_arena_alloc(&arena, 16), 16), "usable after fini");
    hf_arena_fini(&arena);
}

Test(arena, text) {
    hf_arena arena;
    hf_arena_init(&arena, 512, 0);
    char source[] = "seat A";
    char *copy = hf_arena_strdup(&arena, source);
    source[0] = 'X';
    cr_assert_str_eq(copy, "seat A");
    cr_assert_str_eq(hf_arena_printf(&arena, "/screws/%d/%s", 12, "axis"), "/screws/12/axis");
    char *wide = hf_arena_printf(&arena, "%1000s|", "x");
    cr_assert_eq(strlen(wide), 1001);
    cr_assert_str_eq(wide + 999, "x|");
    cr_assert_str_eq(hf_arena_printf(&arena, "%255s", "y") + 254, "y");
    cr_assert_str_eq(hf_arena_printf(&arena, "%256s", "z") + 255, "z");
    hf_arena_fini(&arena);
}

static void jump(void *ctx) {
    longjmp(*(jmp_buf *)ctx, 1);
}

/* The calls that must not come back, by number. */
static void ask_too_much(hf_arena *arena, int which) {
    switch (which) {
    case 0:
        hf_arena_alloc(arena, 5000);
        break;
    case 1:
        hf_arena_array(arena, SIZE_MAX / 8 + 2, 8);
        break;
    case 2:
        hf_arena_alloc(arena, SIZE_MAX);
        break;
    default:
        hf_arena_alloc(arena, SIZE_MAX - 40);
        break;
    }
}

Test(arena, exhaustion_is_told_and_leaves_the_arena_whole) {
    static jmp_buf back;
    for (volatile int which = 0; which < 4; which++) {
        hf_arena arena;
        hf_arena_init(&arena, 512, 4096);
        arena.exhausted = jump;
        arena.ctx = &back;
        char *kept = hf_arena_strdup(&arena, "kept");
        if (setjmp(back) == 0) {
            ask_too_much(&arena, which);
            cr_assert_fail("call %d came back", which);
        }
        cr_assert_str_eq(kept, "kept");
        cr_assert(arena.held_bytes <= 4096);
        hf_arena_fini(&arena);
    }
}

Test(arena, many_small_blocks_stop_at_the_limit) {
    static jmp_buf back;
    static volatile size_t blocks;
    hf_arena arena;
    hf_arena_init(&arena, 512, 4096);
    arena.exhausted = jump;
    arena.ctx = &back;
    if (setjmp(back) == 0)
        for (;; blocks++)
            hf_arena_alloc(&arena, 64);
    cr_assert(arena.held_bytes <= 4096);
    cr_assert(blocks >= 20 && blocks <= 64, "%zu blocks of 64 bytes in 4096", (size_t)blocks);
    hf_arena_fini(&arena);
}

/* Which chunk stays does not hang on the order they came in; where nothing was, nothing is kept. */
Test(arena, reset_keeps_the_largest_chunk_only) {
    hf_arena arena;
    hf_arena_init(&arena, 512, 0);
    hf_arena_reset(&arena);
    cr_assert_eq(arena.held_bytes, 0);
    hf_arena_alloc(&arena, 64);
    hf_arena_alloc(&arena, 4000);
    hf_arena_alloc(&arena, 500);
    size_t all = arena.held_bytes;
    hf_arena_reset(&arena);
    size_t kept = arena.held_bytes;
#ifdef HF_ARENA_PLAIN
    cr_assert(kept == 0 && all > 0);
#else
    cr_assert(kept >= 4000 && kept <= all - 2 * 512, "%zu of %zu bytes", kept, all);
    hf_arena_alloc(&arena, 4000);
    cr_assert_eq(arena.held_bytes, kept);
#endif
    hf_arena_fini(&arena);
}

/* No memory left, and text that the locale cannot write: both end where exhaustion does. */
Test(arena, what_malloc_and_printf_refuse_is_exhaustion) {
    static jmp_buf back;
    for (volatile int which = 0; which < 2; which++) {
        hf_arena arena;
        hf_arena_init(&arena, 512, 0);
        arena.exhausted = jump;
        arena.ctx = &back;
        if (setjmp(back) == 0) {
            if (which)
                hf_arena_printf(&arena, "%ls", L"\U0001F9B7");
            else
                hf_arena_alloc(&arena, SIZE_MAX / 4);
            cr_assert_fail("call %d came back", which);
        }
        hf_arena_fini(&arena);
    }
}

static sigjmp_buf aborted;
static void leave(int signal) {
    siglongjmp(aborted, signal);
}

/* Without a handler the arena ends the program: it never returns NULL. */
Test(arena, without_a_handler_it_aborts) {
    signal(SIGABRT, leave);
    int by = sigsetjmp(aborted, 1);
    if (by == 0) {
        hf_arena small;
        hf_arena_init(&small, 64, 128);
        hf_arena_alloc(&small, 1024);
    }
    cr_assert_eq(by, SIGABRT);
}

/* What was there before stays, what came after is gone, however many chunks it took. */
Test(arena, a_release_takes_back_what_came_since) {
    hf_arena arena;
    hf_arena_init(&arena, 256, 0);
    hf_arena_release(&arena, hf_arena_here(&arena));
    cr_assert_eq(arena.held_bytes, 0);
    char *kept = hf_arena_strdup(&arena, "kept");
    size_t held = arena.held_bytes;
    for (int round = 0; round < 3; round++) {
        hf_arena_mark mark = hf_arena_here(&arena);
        for (int i = 0; i < 50; i++)
            memset(hf_arena_alloc(&arena, 100), 'x', 100);
        cr_assert_gt(arena.held_bytes, 5000);
        hf_arena_release(&arena, mark);
        cr_assert_eq(arena.held_bytes, held);
        cr_assert_str_eq(kept, "kept");
    }
    cr_assert(is_zero(hf_arena_alloc(&arena, 64), 64));
    hf_arena_fini(&arena);
}
