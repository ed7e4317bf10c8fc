#include "course.h"

#include "../../core/evaluate.h"
#include "course_table.h"
#include "decode.h"
#include "encode.h"
#include "parse.h"

struct job {
    hf_course_in course;
    hf_arena *arena;
    struct hfd_errors *errors;
};

static void use(json_t *json, void *ctx) {
    struct job *job = ctx;
    struct hfd_decoder decoder = {job->arena, job->errors};
    struct hfd_path root = {.name = ""};
    hfd_decode_object(&decoder, &hfd_course_table, &root, json, &job->course);
}

enum hfd_problem_kind hfd_course_progress(const char *text, size_t length, hf_arena *arena,
    struct hfd_errors *errors, struct hfd_course_told *told) {
    struct job job = {.arena = arena, .errors = errors};
    const char *detail;
    size_t before = errors->count;
    if (!hfd_json_with(text, length, arena, use, &job, &detail)) {
        hfd_errors_add(errors, NULL, "not well-formed JSON: %s", detail);
        return HFD_MALFORMED_JSON;
    }
    if (errors->count > before) return HFD_VALIDATION;
    told->progress = hf_progress_of(&job.course, arena);
    struct hfd_progress_view view = {HF_CORE_VERSION, HF_PARAMETERS_VERSION, told->progress};
    struct hfd_buf buf;
    hfd_buf_init(&buf, arena, 4096);
    hfd_encode_object(&buf, &hfd_progress_table, &view, &(struct hfd_encoding){0});
    told->body = buf.text;
    told->body_len = buf.length;
    return HFD_OK;
}
