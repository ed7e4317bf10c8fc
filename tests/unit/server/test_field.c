#include <criterion/criterion.h>

#include <jansson.h>
#include <math.h>
#include <stdarg.h>
#include <string.h>

#include "../../../core/case.h"
#include "../../../server/json/decode.h"
#include "../../../server/json/encode.h"
#include "../../../server/json/parse.h"

static hf_arena arena;
static struct hfd_errors errors;

static void set_up(void) {
    hf_arena_init(&arena, 0, 0);
    hfd_errors_init(&errors, &arena);
}
static void tear_down(void) {
    hf_arena_fini(&arena);
}

TestSuite(field, .init = set_up, .fini = tear_down);

/* ---------------------------------------------------------------- a table with every kind */

struct part {
    const char *label;
    double length;
};
struct thing {
    bool yes;
    int flag, number, day, colour, tooth, pair[2], shape;
    double force, plain, vector[3], size[2], side, radius;
    const char *name;
    bool word;
    struct part part;
    bool has_part;
    struct part *parts;
    size_t part_count;
    int *teeth;
    size_t tooth_count;
    const char **texts;
    size_t text_count;
};

static void part_init(void *item) {
    *(struct part *)item = (struct part){.length = NAN};
}
static void thing_init(void *item) {
    *(struct thing *)item = (struct thing){.flag = HF_ABSENT,
        .number = HF_ABSENT,
        .day = HF_ABSENT,
        .colour = -1,
        .tooth = HF_ABSENT,
        .pair = {HF_ABSENT, HF_ABSENT},
        .shape = -1,
        .force = NAN,
        .plain = NAN,
        .vector = {NAN, NAN, NAN},
        .size = {NAN, NAN},
        .side = NAN,
        .radius = NAN,
        .part = {.length = NAN}};
}

#define AT(member) .at = offsetof(struct thing, member)
static const char *const colours[] = {"", "red", "green", NULL};
static const char *const round_word[] = {"round", NULL};

static const struct hfd_field part_fields[] = {
    {"label", HFD_FIELD_TEXT, HFD_FIELD_REQUIRED, offsetof(struct part, label), .what = "a label"},
    {"length_mm", HFD_FIELD_REAL, .at = offsetof(struct part, length), .limit = HF_LIMIT_OFFSET,
        .what = "a length"},
};
static const struct hfd_table part_table = {
    "a part", HFD_FIELDS(part_fields), sizeof(struct part), part_init};

static const struct hfd_field size_fields[] = {
    {"size_in", HFD_FIELD_REALS, AT(size), .count = 2, .what = "two sizes"},
    {"size_in", HFD_FIELD_WORD, AT(word), .names = round_word, .what = "a word"},
};
static const struct hfd_table size_table = {"a size", HFD_FIELDS(size_fields), sizeof(struct thing)};

static const struct hfd_field shape_fields[] = {
    {"square_mm", HFD_FIELD_REAL, HFD_FIELD_KEY, AT(side), .choice = HFD_CHOICE(4), .what = "a side"},
    {"circle_mm", HFD_FIELD_REAL, HFD_FIELD_KEY, AT(radius), .choice = HFD_CHOICE(7), .what = "a radius"},
    {"plain", HFD_FIELD_REAL, HFD_FIELD_REQUIRED, AT(plain), .choice = HFD_CHOICE(7), .what = "a number"},
};
static const struct hfd_table shape_table = {"a shape", HFD_FIELDS(shape_fields), sizeof(struct thing),
    .choose = true, .choice_at = offsetof(struct thing, shape)};

static const struct hfd_field thing_fields[] = {
    {"name", HFD_FIELD_TEXT, HFD_FIELD_REQUIRED, AT(name), .what = "the name"},
    {"yes", HFD_FIELD_BOOL, AT(yes), .what = "a truth"},
    {"flag", HFD_FIELD_FLAG, AT(flag), .what = "a truth or nothing"},
    {"number", HFD_FIELD_INT, AT(number), .limit = HF_LIMIT_GRADE, .what = "a grade"},
    {"force_n", HFD_FIELD_REAL, AT(force), .limit = HF_LIMIT_TENSION, .what = "a force"},
    {"vector_mm", HFD_FIELD_REALS, AT(vector), .count = 3, .limit = HF_LIMIT_COORDINATE, .what = "a point"},
    {"day", HFD_FIELD_DATE, AT(day), .what = "a date"},
    {"colour", HFD_FIELD_ENUM, AT(colour), .names = colours, .what = "a colour"},
    {"tooth", HFD_FIELD_TOOTH, AT(tooth), .what = "a tooth"},
    {"pair", HFD_FIELD_TEETH, AT(pair), .count = 2, .what = "two teeth"},
    {"size_in", HFD_FIELD_EITHER, .table = &size_table, .what = "a size"},
    {"shape", HFD_FIELD_OBJECT, .table = &shape_table, .what = "a shape"},
    {"part", HFD_FIELD_OBJECT, AT(part), .table = &part_table, .present_at = offsetof(struct thing, has_part),
        .what = "a part"},
    {"only", HFD_FIELD_LIST, HFD_FIELD_SINGLE, AT(parts), offsetof(struct thing, part_count),
        .table = &part_table, .excludes = "parts", .what = "the part"},
    {"parts", HFD_FIELD_LIST, HFD_FIELD_SEVERAL, AT(parts), offsetof(struct thing, part_count),
        .limit = HF_LIMIT_ROOTS, .table = &part_table, .what = "the parts"},
    {"teeth", HFD_FIELD_LIST, AT(teeth), .count_at = offsetof(struct thing, tooth_count),
        .item = HFD_FIELD_TOOTH, .what = "teeth"},
    {"texts", HFD_FIELD_LIST, AT(texts), .count_at = offsetof(struct thing, text_count),
        .item = HFD_FIELD_TEXT, .needs = "teeth", .what = "texts"},
};
static const struct hfd_table thing_table = {
    "the thing", HFD_FIELDS(thing_fields), sizeof(struct thing), thing_init};

static struct thing decode(const char *text) {
    struct thing thing;
    const char *detail;
    json_t *json = hfd_json_parse(text, strlen(text), &arena, &detail);
    cr_assert_not_null(json, "%s", detail);
    struct hfd_decoder decoder = {&arena, &errors};
    struct hfd_path root = {.name = ""};
    hfd_decode_object(&decoder, &thing_table, &root, json, &thing);
    json_decref(json);
    return thing;
}

/* `expected`: pointer, part of the detail, …, NULL: exactly these errors in this order. */
static void refused(const char *text, ...) {
    hfd_errors_init(&errors, &arena);
    decode(text);
    va_list args;
    va_start(args, text);
    const struct hfd_error *error = errors.first;
    const char *pointer;
    while ((pointer = va_arg(args, const char *)) != NULL) {
        const char *detail = va_arg(args, const char *);
        cr_assert_not_null(error, "%s: nothing told at %s", text, pointer);
        cr_expect_str_eq(
            error->pointer, pointer, "%s: %s %s instead of %s", text, error->pointer, error->detail, pointer);
        cr_expect(strstr(error->detail, detail), "%s: at %s: %s", text, pointer, error->detail);
        error = error->next;
    }
    va_end(args);
    cr_expect_null(error, "%s: also %s %s", text, error ? error->pointer : "", error ? error->detail : "");
}

static const char *encoded(const struct thing *thing) {
    struct hfd_buf buf;
    struct hfd_encoding how = {.as_given = true};
    hfd_buf_init(&buf, &arena, 16);
    hfd_encode_object(&buf, &thing_table, thing, &how);
    return buf.text;
}

/* ---------------------------------------------------------------- both ways */

static const char whole[] =
    "{\"name\":\"a\",\"yes\":true,\"flag\":false,\"number\":2,\"force_n\":1.5,\"vector_mm\":[1,-2,0.1],"
    "\"day\":\"2024-02-29\",\"colour\":\"green\",\"tooth\":\"16\",\"pair\":[\"15\",\"16\"],\"size_in\":[0.017,0.025],"
    "\"shape\":{\"circle_mm\":3,\"plain\":4},\"part\":{\"label\":\"p\",\"length_mm\":2},"
    "\"parts\":[{\"label\":\"q\",\"length_mm\":1},{\"label\":\"r\"}],\"teeth\":[\"11\",\"48\"],\"texts\":[\"x\",\"y\"]}";

Test(field, decodes_every_kind) {
    struct thing t = decode(whole);
    cr_assert_eq(errors.count, 0);
    cr_expect_str_eq(t.name, "a");
    cr_expect(t.yes && t.flag == 0 && t.number == 2);
    cr_expect_eq(t.force, 1.5);
    cr_expect(t.vector[0] == 1 && t.vector[1] == -2 && t.vector[2] == 0.1);
    cr_expect_eq(t.day, 19782, "1 March 2024 is day 19783 (date -d 2024-03-01 +%%s / 86400)");
    cr_expect_eq(t.colour, 2);
    cr_expect(t.tooth == 16 && t.pair[0] == 15 && t.pair[1] == 16);
    cr_expect(t.size[0] == 0.017 && t.size[1] == 0.025 && !t.word);
    cr_expect(t.shape == 7 && t.radius == 3 && t.plain == 4 && isnan(t.side));
    cr_expect(t.has_part && t.part.length == 2);
    cr_assert_eq(t.part_count, 2);
    cr_expect(isnan(t.parts[1].length));
    cr_expect_str_eq(t.parts[1].label, "r");
    cr_expect(t.tooth_count == 2 && t.teeth[1] == 48);
    cr_expect_str_eq(t.texts[1], "y");
}

Test(field, what_was_read_is_written) {
    struct thing t = decode(whole);
    cr_expect_str_eq(encoded(&t), whole);
}

Test(field, what_is_left_out_is_left_out) {
    struct thing t = decode("{\"name\":\"a\"}");
    cr_assert_eq(errors.count, 0);
    cr_expect(isnan(t.force) && t.flag == HF_ABSENT && t.part_count == 0 && !t.has_part);
    cr_expect_str_eq(encoded(&t), "{\"name\":\"a\",\"yes\":false,\"parts\":[],\"teeth\":[],\"texts\":[]}");
    t.force = INFINITY;
    t.vector[0] = 1; /* y and z are still NAN */
    cr_expect_str_eq(encoded(&t), "{\"name\":\"a\",\"yes\":false,\"parts\":[],\"teeth\":[],\"texts\":[]}");
}

Test(field, one_object_stands_for_a_list_of_one) {
    static const char text[] =
        "{\"name\":\"a\",\"yes\":false,\"size_in\":\"round\",\"only\":{\"label\":\"q\"},\"teeth\":[],\"texts\":[]}";
    struct thing t = decode(text);
    cr_assert(errors.count == 0 && t.part_count == 1 && t.word);
    cr_expect_str_eq(encoded(&t), text);
}

Test(field, computed_numbers_have_twelve_digits) {
    struct thing t = decode("{\"name\":\"a\",\"force_n\":0.30000000000000004}");
    struct hfd_buf buf;
    struct hfd_encoding how = {.without = HFD_FIELD_SEVERAL};
    hfd_buf_init(&buf, &arena, 16);
    hfd_encode_object(&buf, &thing_table, &t, &how);
    cr_expect_str_eq(buf.text, "{\"name\":\"a\",\"yes\":false,\"force_n\":0.3,\"teeth\":[],\"texts\":[]}");
}

/* ---------------------------------------------------------------- quantities */

/* UCUM: gf = 0.00980665 N, [in_i] = 25.4 mm. */
Test(field, quantities) {
    struct thing t = decode("{\"name\":\"a\",\"force_n\":{\"value\":150,\"unit\":\"gf\"},"
                            "\"vector_mm\":{\"unit\":\"[in_i]\",\"value\":[1,0,-0.5]},"
                            "\"size_in\":{\"value\":[0.4318,0.635],\"unit\":\"mm\"}}");
    cr_assert_eq(errors.count, 0, "%s", errors.first ? errors.first->detail : "");
    cr_expect_float_eq(t.force, 1.4709975, 1e-15);
    cr_expect(t.vector[0] == 25.4 && t.vector[1] == 0 && t.vector[2] == -12.7);
    cr_expect_float_eq(t.size[0], 0.017, 1e-17);
    cr_expect_float_eq(t.size[1], 0.025, 1e-17);
}

Test(field, wrong_quantities) {
    refused("{\"name\":\"a\",\"force_n\":{\"value\":1,\"unit\":\"mm\"}}", "/force_n/unit",
        "\"mm\" is one of length", NULL);
    refused("{\"name\":\"a\",\"force_n\":{\"value\":1,\"unit\":\"Ncm\"}}", "/force_n/unit",
        "UCUM code of a force", NULL);
    refused("{\"name\":\"a\",\"force_n\":{\"value\":1,\"unit\":7}}", "/force_n/unit", "got 7", NULL);
    refused("{\"name\":\"a\",\"force_n\":{\"value\":1}}", "/force_n/unit", "is required", NULL);
    refused("{\"name\":\"a\",\"force_n\":{\"value\":\"1\",\"unit\":\"N\"}}", "/force_n/value",
        "the text \"1\"", NULL);
    refused("{\"name\":\"a\",\"force_n\":{\"value\":2.1,\"unit\":\"kgf\"}}", "/force_n/value",
        "expected the tension between 0 and 20 N, got 2.1 kgf = 20.593965 N", NULL);
    refused("{\"name\":\"a\",\"force_n\":{\"value\":1,\"unit\":\"N\",\"per\":1}}", "/force_n/per",
        "no member", NULL);
    refused("{\"name\":\"a\",\"force_n\":{\"unit\":\"N\"}}", "/force_n", "got an object", NULL);
    refused("{\"name\":\"a\",\"vector_mm\":{\"value\":[1,2,15.1],\"unit\":\"cm\"}}", "/vector_mm/value/2",
        "got 15.1 cm = 151 mm", NULL);
    refused("{\"name\":\"a\",\"number\":{\"value\":1,\"unit\":\"N\"}}", "/number",
        "a whole number, got an object", NULL);
    refused("{\"name\":\"a\",\"part\":{\"label\":\"x\",\"length_mm\":{\"value\":1e308,\"unit\":\"m\"}}}",
        "/part/length_mm/value", "between -60 and 60 mm", NULL);
}

/* ---------------------------------------------------------------- refusals */

Test(field, wrong_types) {
    refused("{\"name\":2}", "/name", "expected a text, got 2", NULL);
    refused("{\"name\":\"a\",\"yes\":1}", "/yes", "expected true or false, got 1", NULL);
    refused("{\"name\":\"a\",\"flag\":null}", "/flag", "got null", NULL);
    refused(
        "{\"name\":\"a\",\"number\":\"2\"}", "/number", "expected a whole number, got the text \"2\"", NULL);
    refused("{\"name\":\"a\",\"number\":1.5}", "/number", "got 1.5", NULL);
    refused("{\"name\":\"a\",\"force_n\":\"2\"}", "/force_n", "expected a number in N", NULL);
    refused("{\"name\":\"a\",\"force_n\":true}", "/force_n", "got true", NULL);
    refused("{\"name\":\"a\",\"vector_mm\":[1,2]}", "/vector_mm", "an array of 3 numbers, got an array of 2",
        NULL);
    refused("{\"name\":\"a\",\"vector_mm\":[1,\"2\",null]}", "/vector_mm/1", "a number", "/vector_mm/2",
        "null", NULL);
    refused("{\"name\":\"a\",\"day\":\"2026-02-30\"}", "/day", "a date YYYY-MM-DD", NULL);
    refused("{\"name\":\"a\",\"day\":20260230}", "/day", "a date YYYY-MM-DD", NULL);
    refused("{\"name\":\"a\",\"colour\":\"blue\"}", "/colour",
        "one of \"red\", \"green\", got the text \"blue\"", NULL);
    refused("{\"name\":\"a\",\"colour\":\"\"}", "/colour", "one of", NULL);
    refused("{\"name\":\"a\",\"tooth\":16}", "/tooth", "ISO 3950 as text", NULL);
    refused("{\"name\":\"a\",\"tooth\":\"19\"}", "/tooth", "got the text \"19\"", NULL);
    refused("{\"name\":\"a\",\"tooth\":\"016\"}", "/tooth", "ISO 3950", NULL);
    refused("{\"name\":\"a\",\"pair\":[\"11\"]}", "/pair", "2 teeth", NULL);
    refused("{\"name\":\"a\",\"pair\":[\"11\",\"51\"]}", "/pair/1", "\"51\"", NULL);
    refused("{\"name\":\"a\",\"part\":[]}", "/part", "an object (a part), got an array of 0", NULL);
    refused("{\"name\":\"a\",\"parts\":{}}", "/parts", "an array, got an object", NULL);
    refused("{\"name\":\"a\",\"teeth\":[\"11\",12]}", "/teeth/1", "got 12", NULL);
    refused("{\"name\":\"a\",\"size_in\":\"square\"}", "/size_in", "an array of 2 numbers in [in_i]", NULL);
    refused("[]", "", "expected an object (the thing), got an array of 0", NULL);
}

Test(field, wrong_texts) {
    char text[512] = "{\"name\":\"";
    refused("{\"name\":\"\"}", "/name", "empty", NULL);
    refused("{\"name\":\"  \"}", "/name", "empty", NULL);
    refused("{\"name\":\"a\\nb\"}", "/name", "control", NULL);
    /* 200 characters of two bytes each pass, one more does not */
    for (int i = 0; i < 200; i++)
        strncat(text, "\xC3\xA4", sizeof text - strlen(text) - 1);
    char longer[600];
    snprintf(longer, sizeof longer, "%sx\"}", text);
    strncat(text, "\"}", sizeof text - strlen(text) - 1);
    refused(text, NULL);
    refused(longer, "/name", "200 characters", NULL);
}

Test(field, ranges) {
    refused("{\"name\":\"a\",\"force_n\":0,\"number\":3.0}", NULL);
    refused("{\"name\":\"a\",\"force_n\":20}", NULL);
    refused("{\"name\":\"a\",\"force_n\":-0.01}", "/force_n",
        "expected the tension between 0 and 20 N, got -0.01 N", NULL);
    refused("{\"name\":\"a\",\"force_n\":20.01}", "/force_n", "got 20.01 N", NULL);
    refused("{\"name\":\"a\",\"number\":4}", "/number", "expected the grade between 0 and 3, got 4", NULL);
    refused("{\"name\":\"a\",\"number\":-1}", "/number", "got -1", NULL);
    refused("{\"name\":\"a\",\"parts\":[]}", "/parts", "number of roots between 1 and 4, got 0", NULL);
    refused("{\"name\":\"a\",\"parts\":[1,2,3,4,5]}", "/parts", "got 5", NULL);
}

Test(field, members) {
    refused("{}", "/name", "is required: the name; expected a text", NULL);
    refused("{\"name\":\"a\",\"colr\":1,\"a/b~c\":2}", "/colr",
        "is no member of the thing; expected `name`, `yes`", "/a~1b~0c", "is no member", NULL);
    refused("{\"name\":\"a\",\"parts\":[{\"label\":\"x\"},{\"lable\":\"x\"}]}", "/parts/1/label",
        "is required", "/parts/1/lable", "is no member of a part", NULL);
    refused("{\"name\":\"a\",\"only\":{\"label\":\"\"}}", "/only/label", "empty", NULL);
    refused("{\"name\":\"a\",\"only\":{\"label\":\"x\"},\"parts\":[{\"label\":\"x\"}]}", "/only",
        "may not stand beside `parts`", NULL);
    refused("{\"name\":\"a\",\"texts\":[\"x\"]}", "/texts", "needs `teeth`", NULL);
}

Test(field, choices) {
    refused("{\"name\":\"a\",\"shape\":{}}", "/shape", "exactly one of `square_mm`, `circle_mm`", NULL);
    refused("{\"name\":\"a\",\"shape\":{\"square_mm\":1,\"circle_mm\":1}}", "/shape/circle_mm",
        "beside `square_mm`", NULL);
    refused("{\"name\":\"a\",\"shape\":{\"square_mm\":1,\"plain\":1}}", "/shape/plain",
        "goes only with `circle_mm`", NULL);
    refused("{\"name\":\"a\",\"shape\":{\"circle_mm\":1}}", "/shape/plain", "is required", NULL);
    refused("{\"name\":\"a\",\"shape\":{\"square_mm\":1}}", NULL);
}

/* All faults of a body at once, each where it stands. */
Test(field, many_at_once) {
    refused("{\"yes\":1,\"number\":9,\"force_n\":{\"value\":1,\"unit\":\"deg\"},\"vector_mm\":[0,0,151],"
            "\"shape\":{\"plain\":0},\"parts\":[{},{\"length_mm\":61}],\"extra\":null}",
        "/name", "required", "/yes", "true or false", "/number", "grade", "/force_n/unit", "angle",
        "/vector_mm/2", "coordinate", "/shape", "exactly one", "/parts/0/label", "required", "/parts/1/label",
        "required", "/parts/1/length_mm", "offset", "/extra", "no member", NULL);
}

/* A table of size 0 describes what nobody keeps. */
Test(field, only_checked) {
    static const struct hfd_field inner_fields[] = {
        {"n", HFD_FIELD_INT, HFD_FIELD_REQUIRED, .what = "a number"},
        {"date", HFD_FIELD_DATE, .what = "a date"},
        {"flag", HFD_FIELD_BOOL, .what = "a flag"},
    };
    static const struct hfd_table inner = {"an inner", HFD_FIELDS(inner_fields)};
    static const struct hfd_field outer_fields[] = {
        {"items", HFD_FIELD_LIST, .table = &inner, .what = "items"},
        {"one", HFD_FIELD_OBJECT, .table = &inner, .what = "one"},
        {"teeth", HFD_FIELD_LIST, .item = HFD_FIELD_TOOTH, .what = "teeth"},
    };
    static const struct hfd_table outer = {"an outer", HFD_FIELDS(outer_fields)};
    struct hfd_decoder decoder = {&arena, &errors};
    struct hfd_path root = {.name = "/goals"};
    json_t *json = json_loads(
        "{\"items\":[{\"n\":1,\"flag\":true},{\"date\":\"x\"}],\"one\":{\"n\":\"2\"},\"teeth\":[\"11\",\"1\"]}",
        0, NULL);
    hfd_decode_object(&decoder, &outer, &root, json, NULL);
    json_decref(json);
    cr_assert_eq(errors.count, 4);
    cr_expect_str_eq(errors.first->pointer, "/goals/items/1/n");
    cr_expect_str_eq(errors.first->next->pointer, "/goals/items/1/date");
    cr_expect_str_eq(errors.first->next->next->pointer, "/goals/one/n");
    cr_expect_str_eq(errors.last->pointer, "/goals/teeth/1");
}
