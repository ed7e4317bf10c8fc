#include "seed.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../base/uuid.h"
#include "../http/path.h"
#include "../rest/rest.h"
#include "../store/admin.h"
#include "app.h"

#define WORDS_MAX 16

struct seed {
    void *worker;
    const char *token;
    struct {
        const char *word;
        char id[HFD_UUID_TEXT_SIZE];
    } known[WORDS_MAX];
    size_t known_count, made, there;
};

static const char *id_of(const struct seed *seed, const char *word, size_t length) {
    for (size_t i = 0; i < seed->known_count; i++) {
        if (strlen(seed->known[i].word) == length && memcmp(seed->known[i].word, word, length) == 0) {
            return seed->known[i].id;
        }
    }
    return "";
}

/* Quotes and $words of seed.h. */
static const char *expand(const struct seed *seed, const char *text, hf_arena *arena) {
    struct hfd_buf out;
    hfd_buf_init(&out, arena, strlen(text) + 64);
    while (*text) {
        if (*text == '$') {
            size_t length = strspn(++text, "abcdefghijklmnopqrstuvwxyz-");
            hfd_buf_text(&out, id_of(seed, text, length));
            text += length;
        } else {
            hfd_buf_char(&out, *text == '\'' ? '"' : *text);
            text++;
        }
    }
    return out.text;
}

/* The first member "id" of a reply: of the record, or of the first one of a list. */
static bool first_id(const struct hfd_reply *reply, char out[HFD_UUID_TEXT_SIZE]) {
    static const char member[] = "\"id\":\"";
    const char *at = memmem(reply->body, reply->body_len, member, sizeof member - 1);
    if (!at || reply->body_len - (size_t)(at - reply->body) < sizeof member + HFD_UUID_TEXT_SIZE)
        return false;
    memcpy(out, at + sizeof member - 1, HFD_UUID_TEXT_SIZE - 1);
    out[HFD_UUID_TEXT_SIZE - 1] = '\0';
    return hfd_uuid_valid(out);
}

static void ask(const struct seed *seed, enum hfd_method method, const char *target, const char *body,
    const char *if_match, hf_arena *arena, struct hfd_reply *reply) {
    const char *detail;
    struct hfd_pair headers[3] = {
        {"authorization", hf_arena_printf(arena, "Bearer %s", seed->token)},
        {"content-type", "application/json"},
        {"if-match", if_match},
    };
    struct hfd_request request = {.arena = arena,
        .id = "seed-demo",
        .method = method,
        .target = target,
        .headers = headers,
        .header_count = if_match ? 3 : 2,
        .body = body,
        .body_len = body ? strlen(body) : 0};
    *reply = (struct hfd_reply){0};
    if (hfd_path_parse(&request, &detail) == HFD_OK) hfd_rest_handle(seed->worker, &request, reply);
}

static bool refused(const char *target, const struct hfd_reply *reply) {
    fprintf(stderr, "holdfastd: the demo clinic stopped at %s (%d): %.*s\n", target, reply->status,
        (int)reply->body_len, reply->body ? reply->body : "");
    return false;
}

static void remember(struct seed *seed, const char *word, const char *id) {
    if (!word || seed->known_count == WORDS_MAX) return;
    seed->known[seed->known_count].word = word;
    memcpy(seed->known[seed->known_count++].id, id, HFD_UUID_TEXT_SIZE);
}

static bool make(struct seed *seed, const struct hfd_seed_step *step, hf_arena *arena) {
    struct hfd_reply reply;
    char id[HFD_UUID_TEXT_SIZE] = "";
    if (step->found_by) {
        const char *target =
            hf_arena_printf(arena, "%s?%s", step->collection, expand(seed, step->found_by, arena));
        ask(seed, HFD_GET, target, NULL, NULL, arena, &reply);
        if (reply.status != 200) return refused(target, &reply);
        if (first_id(&reply, id)) seed->there++;
    }
    if (id[0] == '\0') {
        ask(seed, HFD_POST, step->collection, expand(seed, step->body, arena), NULL, arena, &reply);
        bool there = reply.status == 409 && !step->word;
        if (!there && (reply.status != 201 || !first_id(&reply, id)))
            return refused(step->collection, &reply);
        if (there)
            seed->there++;
        else
            seed->made++;
    }
    remember(seed, step->word, id);
    return true;
}

/* The same twice is no change. */
static bool change(struct seed *seed, const struct hfd_seed_step *step, hf_arena *arena) {
    struct hfd_reply reply;
    const char *target = expand(seed, step->change, arena), *etag = NULL;
    ask(seed, HFD_GET, target, NULL, NULL, arena, &reply);
    for (size_t i = 0; i < reply.header_count; i++) {
        if (strcmp(reply.headers[i].name, "ETag") == 0) etag = reply.headers[i].value;
    }
    if (reply.status != 200 || !etag) return refused(target, &reply);
    ask(seed, HFD_PATCH, target, expand(seed, step->body, arena), etag, arena, &reply);
    return reply.status == 200 || refused(target, &reply);
}

static bool run_steps(struct seed *seed) {
    bool going = true;
    for (size_t i = 0; i < hfd_seed_step_count && going; i++) {
        hf_arena arena;
        hf_arena_init(&arena, 65536, 0);
        const struct hfd_seed_step *step = &hfd_seed_steps[i];
        going = step->change ? change(seed, step, &arena) : make(seed, step, &arena);
        hf_arena_fini(&arena);
    }
    return going;
}

/* The token was for these requests only; the list tells its id. */
static int revoke(const char *owner, const char *label) {
    char *list = NULL;
    size_t length;
    FILE *memory = open_memstream(&list, &length);
    if (!memory) return 1;
    int code = hfd_admin_token_list(owner, HFD_SEED_CLINIC, memory);
    fclose(memory);
    const char *at = code == 0 ? strstr(list, label) : NULL;
    if (at) {
        while (at > list && at[-1] != '\n') {
            at--;
        }
        char *id = strndup(at, HFD_UUID_TEXT_SIZE - 1);
        code = id ? hfd_admin_token_revoke(owner, id) : 1;
        free(id);
    }
    free(list);
    return code;
}

static int seed_with_token(const struct hfd_config *config, const char *token, FILE *log) {
    struct seed seed = {.token = token, .worker = hfd_rest_worker_new(config->database)};
    if (!seed.worker) return 1;
    bool done = run_steps(&seed);
    hfd_rest_worker_free(seed.worker);
    if (done) fprintf(log, "%s: %zu records made, %zu were there\n", HFD_SEED_CLINIC, seed.made, seed.there);
    return done ? 0 : 1;
}

int hfd_app_seed_demo(const struct hfd_config *config, FILE *log) {
    char id[HFD_UUID_TEXT_SIZE], label[64] = "seed-demo ";
    char *token = NULL;
    /* A second run finds the clinic and goes on where the first one ended. Any other failure meets the next
     * call too. */
    hfd_admin_clinic_create(config->database_owner, HFD_SEED_CLINIC, true, id);
    hfd_uuid_new(label + strlen(label));
    int code = hfd_admin_token_create(config->database_owner, HFD_SEED_CLINIC, "admin", label, &token);
    if (code != 0) return code;
    code = seed_with_token(config, token, log);
    free(token);
    int revoked = revoke(config->database_owner, label);
    return code != 0 ? code : revoked;
}
