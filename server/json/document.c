#include "document.h"

#include <string.h>

#include "../../core/evidence.h"
#include "answer_table.h"
#include "canonical.h"
#include "case_table.h"
#include "decode.h"
#include "encode.h"
#include "parse.h"

/* One document on its way. `root` is the pointer to it in the body. */
struct document {
    const char *root;
    hf_case input;
    bool one_plate; /* told as "plate", so pointers must not speak of "plates" */
    const char *digest;
    struct hfd_answer_view view;
};

static void decode(
    struct document *document, json_t *json, const char *root, hf_arena *arena, struct hfd_errors *errors) {
    struct hfd_decoder decoder = {arena, errors};
    struct hfd_path path = {.name = root};
    document->root = root;
    document->one_plate = json_object_get(json, "plate") != NULL;
    hfd_decode_object(&decoder, &hfd_case_table, &path, json, &document->input);
    if (errors->count == 0) document->digest = hfd_canonical_digest(json, arena);
}

/* The core's pointer in the words of the document. */
static const char *as_told(const struct document *document, const char *pointer, hf_arena *arena) {
    static const char first[] = "/plates/0";
    const char *rest = pointer + sizeof first - 1;
    if (!document->one_plate || strncmp(pointer, first, sizeof first - 1) != 0 ||
        (*rest != '/' && *rest != '\0'))
        return pointer;
    return hf_arena_printf(arena, "/plate%s", rest);
}

static size_t drawn_by(const hf_case *in) {
    if (in->uncertainty.samples == HF_ABSENT) return 0;
    size_t bodies = in->segment_count + in->screw_count;
    for (size_t i = 0; i < in->plate_count; i++)
        bodies += in->plates[i].node_count;
    return (size_t)in->uncertainty.samples * bodies;
}

/* What the draws of one request may cost. */
static void check_draws(
    const struct document *documents, size_t count, const char *pointer, struct hfd_errors *errors) {
    const hf_limit_range *range = &hf_limits[HF_LIMIT_DRAWN];
    size_t drawn = 0;
    for (size_t i = 0; i < count; i++)
        drawn += drawn_by(&documents[i].input);
    if (!hf_limit_allows(HF_LIMIT_DRAWN, (double)drawn))
        hfd_errors_add(
            errors, pointer, "expected the %s at most %.0f, got %zu", range->what, range->high, drawn);
}

static bool evaluate(struct document *document, hf_arena *arena, struct hfd_errors *errors) {
    hf_answer *answer = &document->view.answer;
    document->view.core = HF_CORE_VERSION;
    document->view.parameters = HF_PARAMETERS_VERSION;
    document->view.digest = document->digest;
    bool right = hf_evaluate(&document->input, arena, answer);
    for (size_t i = 0; i < answer->problem_count; i++) {
        const char *pointer = as_told(document, answer->problems[i].pointer, arena);
        hfd_errors_add(errors, hf_arena_printf(arena, "%s%s", document->root, pointer), "%s",
            answer->problems[i].detail);
    }
    for (size_t i = 0; i < answer->assumed_count; i++) {
        answer->assumed[i].pointer = as_told(document, answer->assumed[i].pointer, arena);
    }
    return right;
}

static void encode(struct hfd_buf *buf, const struct document *document, enum hfd_answer_part part) {
    struct hfd_encoding how = {.without = part == HFD_ANSWER_STABILITY ? HFD_FIELD_WHOLE : 0};
    hfd_encode_object(buf, &hfd_answer_table, &document->view, &how);
}

static void refuse(struct hfd_evaluation *out, hf_arena *arena) {
    out->kind = HFD_VALIDATION;
    out->detail = hf_arena_printf(arena,
        out->errors.count == 1 ? "1 fault in the document" : "%zu faults in the document", out->errors.count);
}

static void finish(struct hfd_evaluation *out, const struct hfd_buf *buf) {
    out->kind = HFD_OK;
    out->body = buf->text;
    out->body_len = buf->length;
}

static void evaluate_one(
    json_t *json, enum hfd_answer_part part, hf_arena *arena, struct hfd_evaluation *out) {
    struct document *document = HF_NEW(arena, struct document);
    decode(document, json, "", arena, &out->errors);
    check_draws(document, 1, "/uncertainty/samples", &out->errors);
    out->digest = document->digest;
    /* Who asks how a visit's screws will stay wants to know how sure that is. The draws are not the
     * document's: its digest and its whole answer are the same without them. */
    if (part == HFD_ANSWER_STABILITY && document->input.uncertainty.samples == HF_ABSENT)
        document->input.uncertainty.samples = (int)HF_EV(UNCERTAINTY_SAMPLES);
    if (out->errors.count > 0 || !evaluate(document, arena, &out->errors)) {
        refuse(out, arena);
        return;
    }
    struct hfd_buf buf;
    hfd_buf_init(&buf, arena, 32768);
    encode(&buf, document, part);
    finish(out, &buf);
    out->input = &document->input;
    out->answer = &document->view.answer;
}

/* The list of variants, or NULL when the body is not of that form; faults of the form are told. */
static json_t *variants_of(json_t *json, hf_arena *arena, struct hfd_errors *errors) {
    const hf_limit_range *range = &hf_limits[HF_LIMIT_VARIANTS];
    json_t *list = json_object_get(json, "variants");
    size_t count = json_array_size(list);
    const char *name;
    json_t *value;
    json_object_foreach(json, name, value) {
        struct hfd_decoder decoder = {arena, errors};
        struct hfd_path root = {.name = ""}, member = {.up = &root, .name = name};
        if (value != list) hfd_decode_error(&decoder, &member, "may not stand beside `variants`");
    }
    if (!json_is_array(list))
        hfd_errors_add(errors, "/variants", "expected an array of documents");
    else if (!hf_limit_allows(HF_LIMIT_VARIANTS, (double)count))
        hfd_errors_add(errors, "/variants", "expected the %s between %g and %g, got %zu", range->what,
            range->low, range->high, count);
    return errors->count == 0 ? list : NULL;
}

/* All or none: one bad variant refuses the whole. */
static void evaluate_variants(
    json_t *json, enum hfd_answer_part part, hf_arena *arena, struct hfd_evaluation *out) {
    json_t *list = variants_of(json, arena, &out->errors);
    size_t count = json_array_size(list);
    struct document *documents = HF_NEW_ARRAY(arena, struct document, count);
    for (size_t i = 0; i < count; i++) {
        const char *root = hf_arena_printf(arena, "/variants/%zu", i);
        decode(&documents[i], json_array_get(list, i), root, arena, &out->errors);
    }
    check_draws(documents, count, "/variants", &out->errors);
    bool right = out->errors.count == 0;
    for (size_t i = 0, sound = right ? count : 0; i < sound; i++) {
        right &= evaluate(&documents[i], arena, &out->errors);
    }
    if (!right) {
        refuse(out, arena);
        return;
    }
    out->digest = hfd_canonical_digest(json, arena);
    struct hfd_buf buf;
    hfd_buf_init(&buf, arena, 16384 * count);
    hfd_buf_text(&buf, "{\"variants\":[");
    for (size_t i = 0; i < count; i++) {
        if (i) hfd_buf_char(&buf, ',');
        encode(&buf, &documents[i], part);
    }
    hfd_buf_text(&buf, "]}");
    finish(out, &buf);
}

void hfd_document_evaluate(const char *text, size_t length, bool variants, enum hfd_answer_part part,
    hf_arena *arena, struct hfd_evaluation *out) {
    *out = (struct hfd_evaluation){.kind = HFD_MALFORMED_JSON};
    hfd_errors_init(&out->errors, arena);
    json_t *json = hfd_json_parse(text, length, arena, &out->detail);
    if (!json) return;
    if (variants && json_object_get(json, "variants"))
        evaluate_variants(json, part, arena, out);
    else
        evaluate_one(json, part, arena, out);
}

bool hfd_document_decode(const char *text, size_t length, hf_arena *arena, struct hfd_errors *errors,
    hf_case *out, const char **digest) {
    const char *detail;
    size_t before = errors->count;
    struct document document = {0};
    json_t *json = hfd_json_parse(text, length, arena, &detail);
    if (json)
        decode(&document, json, "", arena, errors);
    else
        hfd_errors_add(errors, NULL, "not well-formed JSON: %s", detail);
    *out = document.input;
    *digest = document.digest;
    return errors->count == before;
}
