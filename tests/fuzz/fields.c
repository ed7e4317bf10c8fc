/* Any text where a client sends a short one: cursor, token, idempotency key, preconditions, Accept. */
#include "../../server/auth/token.h"
#include "../../server/rest/cursor.h"
#include "../../server/rest/idempotency.h"
#include "../../server/rest/negotiate.h"
#include "text.h"

static const char id[] = "01890a5d-ac96-774b-bcce-b302099a8057";

/* What we write for any sort value is read back as it was, and answers its own question only. */
static void cursor(const char *text, hf_arena *arena) {
    struct hfd_cursor given, back;
    if (hfd_cursor_read(text, arena, &given)) FUZZ_HOLDS(given.sort_value && strlen(given.id) == strlen(id));
    const char *written = hfd_cursor_write("question", text, id, arena);
    if (!hfd_cursor_read(written, arena, &back)) return; /* no UTF-8: never a sort value */
    FUZZ_HOLDS(strcmp(back.sort_value, text) == 0 && strcmp(back.id, id) == 0);
    FUZZ_HOLDS(hfd_cursor_answers(&back, "question", arena) && !hfd_cursor_answers(&back, "another", arena));
}

static void token(const char *text) {
    char digest[HFD_TOKEN_DIGEST_SIZE] = "";
    if (!hfd_token_digest(text, digest)) return;
    FUZZ_HOLDS(strspn(digest, "0123456789abcdef") == HFD_TOKEN_DIGEST_SIZE - 1);
}

static void preconditions(const char *text, hf_arena *arena) {
    const char *key = hfd_idempotency_key(text, arena);
    if (key) FUZZ_HOLDS(strlen(key) > 0 && strlen(key) <= HFD_IDEMPOTENCY_KEY_MAX);
    /* A strong match is a weak one too (RFC 9110 §8.8.3.2). */
    if (hfd_if_match(text, "\"7\"")) FUZZ_HOLDS(hfd_if_none_match(text, "\"7\""));
    const char *best = hfd_accept_best(text, "application/json, text/html", arena);
    if (best) FUZZ_HOLDS(hfd_accept_best(text, best, arena));
    (void)hfd_is_media_type(text, "application/json");
    (void)hfd_prefers_minimal(text);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    char *text = fuzz_text(data, size);
    hf_arena arena;
    hf_arena_init(&arena, 1 << 12, 0);
    cursor(text, &arena);
    token(text);
    preconditions(text, &arena);
    hf_arena_fini(&arena);
    free(text);
    return 0;
}
