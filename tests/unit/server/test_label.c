/* Where words are set, read back from the text. */
#include "../../../server/draw/label.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

static hf_arena arena;
static struct hfd_buf out;
static struct hfd_svg svg;

static void begin(void) {
    hf_arena_init(&arena, 1 << 16, 0);
    hfd_buf_init(&out, &arena, 1024);
    svg = (struct hfd_svg){.out = &out, .prefix = "t"};
}
static void end(void) {
    hf_arena_fini(&arena);
}
TestSuite(label, .init = begin, .fini = end);

static void add(struct hfd_labels *labels, double x, double y, const char *text) {
    hfd_labels_add(
        labels, (struct hfd_label){.at = {x, y}, .classes = "label", .lines = {text}, .title = text});
}

static size_t count_of(const char *part) {
    size_t count = 0;
    for (const char *at = out.text; (at = strstr(at, part)) != NULL; at++)
        count++;
    return count;
}

/* Every text's middle and baseline. */
static size_t texts(struct hfd_at *at, size_t most) {
    size_t count = 0;
    for (const char *t = out.text; count < most && (t = strstr(t, "<text class=\"middle\" x=\"")) != NULL;
         t++) {
        int read = sscanf(t, "<text class=\"middle\" x=\"%lf\" y=\"%lf\"", &at[count].x, &at[count].y);
        cr_assert_eq(read, 2);
        count++;
    }
    return count;
}

Test(label, twenty_at_one_point_stand_apart) {
    struct hfd_labels *labels = hfd_labels_of(&arena, 400, 300);
    struct hfd_at at[20];
    for (int i = 0; i < 20; i++)
        add(labels, 200, 150, "1.47 N");
    cr_expect_eq(hfd_labels_write(labels, &svg), 0);
    cr_assert_eq(texts(at, 20), 20);
    /* Six characters of 11 px are no narrower than 25 px, a line no lower than 10. */
    for (size_t i = 0; i < 20; i++)
        for (size_t j = 0; j < i; j++)
            cr_expect(fabs(at[i].x - at[j].x) > 25.0 || fabs(at[i].y - at[j].y) > 10.0);
    cr_expect(count_of("class=\"leader\"") > 10, "those far away are led to their point");
}

Test(label, what_finds_no_room_is_counted) {
    struct hfd_labels *labels = hfd_labels_of(&arena, 60, 40);
    for (int i = 0; i < 20; i++)
        add(labels, 30, 20, "1.47 N");
    hfd_labels_add(
        labels, (struct hfd_label){
                    .at = {30, 20}, .classes = "label", .lines = {"16"}, .on_it = true, .or_nowhere = true});
    size_t without = hfd_labels_write(labels, &svg);
    cr_expect(without > 0 && without + count_of("<text") == 20, "a number with one place only is not missed");
}

Test(label, lines_stay_in_sight) {
    struct hfd_labels *labels = hfd_labels_of(&arena, 200, 200);
    struct hfd_at at[1];
    hfd_labels_avoid(labels, (struct hfd_at){100, 60}, (struct hfd_at){200, 60});
    hfd_labels_avoid(labels, (struct hfd_at){100, 100}, (struct hfd_at){200, 100});
    hfd_labels_take(labels, (struct hfd_box){0, 0, 200, 80});
    add(labels, 150, 100, "right");
    cr_expect_eq(hfd_labels_write(labels, &svg), 0);
    cr_assert_eq(texts(at, 1), 1);
    /* Below the line and below what is taken: the letters reach 9 px over their baseline. */
    cr_expect(at[0].y - 9.0 > 100.0, "%g", at[0].y);
}

Test(label, what_stands_on_its_point) {
    struct hfd_labels *labels = hfd_labels_of(&arena, 100, 100);
    struct hfd_at at[1];
    hfd_labels_add(
        labels, (struct hfd_label){.at = {50, 50}, .classes = "label", .lines = {"16"}, .on_it = true});
    cr_expect_eq(hfd_labels_write(labels, &svg), 0);
    cr_assert_eq(texts(at, 1), 1);
    cr_expect(at[0].x == 50.0 && fabs(at[0].y - 54.0) < 2.0);
}

Test(label, texts_are_broken_at_spaces) {
    size_t count;
    const char *const *lines = hfd_text_wrapped(&arena, "one two three", 10.0, 50.0, &count);
    cr_assert_eq(count, 2);
    cr_expect_str_eq(lines[0], "one two");
    cr_expect_str_eq(lines[1], "three");
    lines = hfd_text_wrapped(&arena, "", 10.0, 50.0, &count);
    cr_expect_eq(count, 0);
    lines = hfd_text_wrapped(&arena, "incomprehensibilities", 10.0, 50.0, &count);
    cr_assert_eq(count, 1);
    cr_expect_not_null(strstr(lines[0], "\xE2\x80\xA6"));
    lines = hfd_text_wrapped(&arena, "a incomprehensibilities", 10.0, 50.0, &count);
    cr_assert_eq(count, 2);
    cr_expect_str_eq(lines[0], "a");
}
