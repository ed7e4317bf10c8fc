#include "course.h"

#include "../../core/evaluate.h"
#include "course_table.h"
#include "decode.h"
#include "encode.h"
#include "parse.h"

enum hfd_problem_kind hfd_course_progress(const char *text, size_t length, hf_arena *arena,
    struct hfd_errors *errors, struct hfd_course_told *told) {
    const char *detail;
    size_t before = errors->count;
    json_t *json = hfd_json_parse(text, length, arena, &detail);
    if (!json) {
        hfd_errors_add(errors, NULL, "not well-formed JSON: %s", detail);
        return HFD_MALFORMED_JSON;
    }
    hf_course_in course = {0};
    struct hfd_decoder decoder = {arena, errors};
    struct hfd_path root = {.name = ""};
    hfd_decode_object(&decoder, &hfd_course_table, &root, json, &course);
    if (errors->count > before) return HFD_VALIDATION;
    told->progress = hf_progress_of(&course, arena);
    struct hfd_progress_view view = {HF_CORE_VERSION, HF_PARAMETERS_VERSION, told->progress};
    struct hfd_buf buf;
    hfd_buf_init(&buf, arena, 4096);
    hfd_encode_object(&buf, &hfd_progress_table, &view, &(struct hfd_encoding){0});
    told->body = buf.text;
    told->body_len = buf.length;
    return HFD_OK;
}
