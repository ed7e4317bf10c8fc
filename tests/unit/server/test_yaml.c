#include "../../../server/base/yaml.h"

#include <criterion/criterion.h>
#include <string.h>

static hf_arena arena;

static void begin(void) {
    hf_arena_init(&arena, 4096, 0);
}

static void end(void) {
    hf_arena_fini(&arena);
}

TestSuite(yaml, .init = begin, .fini = end);

/* The trees are those of YAML 1.2, read by eye. */

static const char *text_at(const char *yaml, const char *key) {
    return hfd_yaml_text(hfd_yaml_read(yaml, &arena), key);
}

Test(yaml, bare_text_goes_to_the_end_of_its_line) {
    cr_assert_str_eq(text_at("a: List, page by page: all }\nb: 2\n", "a"), "List, page by page: all }");
    cr_assert_str_eq(text_at("a: 1\n\"on\": 2 \n", "on"), "2");
    cr_assert_null(text_at("a: 1\n", "b"));
    cr_assert_null(hfd_yaml_text(NULL, "a"));
}

Test(yaml, quoted_text_is_unescaped) {
    cr_assert_str_eq(text_at("a: \"x: {1}, \\\"y\\\" \\\\ \\n\\t é\"\n", "a"), "x: {1}, \"y\" \\ \n\t é");
}

Test(yaml, lines_behind_a_bar_keep_their_shape) {
    const struct hfd_yaml *root = hfd_yaml_read("a:\n  b: |\n    one\n\n      two\n  c: 3\n", &arena);
    cr_assert_str_eq(hfd_yaml_text(hfd_yaml_at(root, "a"), "b"), "one\n\n  two\n");
    cr_assert_str_eq(hfd_yaml_text(hfd_yaml_at(root, "a"), "c"), "3");
    cr_assert_str_eq(text_at("a: |\n  end\n", "a"), "end\n");
}

Test(yaml, maps_and_lists_in_one_line) {
    const struct hfd_yaml *root =
        hfd_yaml_read("a: {b: [x, \"y, z\", {}], \"c\": {d: -1}, e: []}\nf: 1\n", &arena);
    const struct hfd_yaml *a = hfd_yaml_at(root, "a"), *list = a->first;
    cr_assert_null(a->text);
    cr_assert(a->source_length == strlen("{b: [x, \"y, z\", {}], \"c\": {d: -1}, e: []}"));
    cr_assert(strncmp(a->source, "{b: [x", 6) == 0);
    cr_assert_str_eq(list->first->text, "x");
    cr_assert_str_eq(list->first->next->text, "y, z");
    cr_assert_null(list->first->next->next->first);
    cr_assert_null(list->first->next->next->next);
    cr_assert_str_eq(hfd_yaml_text(hfd_yaml_at(a, "c"), "d"), "-1");
    cr_assert_null(hfd_yaml_at(a, "e")->first);
    cr_assert(
        hfd_yaml_says(root, "f", "1") && !hfd_yaml_says(root, "f", "2") && !hfd_yaml_says(root, "g", "1"));
}

Test(yaml, dashes_make_lists) {
    const struct hfd_yaml *root = hfd_yaml_read("a:\n"
                                                "  - {n: 1}\n"
                                                "  - n: 2\n"
                                                "    m: {k: v}\n"
                                                "  -\n"
                                                "      n: 3\n"
                                                "b: 4\n",
        &arena);
    const struct hfd_yaml *item = hfd_yaml_at(root, "a")->first;
    cr_assert_null(item->key);
    cr_assert(hfd_yaml_says(item, "n", "1"));
    item = item->next;
    cr_assert(hfd_yaml_says(item, "n", "2") && hfd_yaml_says(hfd_yaml_at(item, "m"), "k", "v"));
    item = item->next;
    cr_assert(hfd_yaml_says(item, "n", "3"));
    cr_assert_null(item->next);
    cr_assert(hfd_yaml_says(root, "b", "4"));
}
