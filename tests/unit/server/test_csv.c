#include "../../../server/base/csv.h"

#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

static hf_arena arena;

static void begin(void) {
    hf_arena_init(&arena, 1 << 14, 0);
}
static void end(void) {
    hf_arena_fini(&arena);
}
TestSuite(csv, .init = begin, .fini = end);

static const char *written(const char *text, bool bare) {
    struct hfd_buf out;
    hfd_buf_init(&out, &arena, 16);
    hfd_csv_cell(&out, true, ',', text, bare);
    return out.text;
}

/* RFC 4180 §2: quotes around separators, line ends and quotes, a quote inside doubled. */
Test(csv, cells) {
    cr_expect_str_eq(written("plain", false), "plain");
    cr_expect_str_eq(written("a,b", false), "\"a,b\"");
    cr_expect_str_eq(written("say \"b\"", false), "\"say \"\"b\"\"\"");
    cr_expect_str_eq(written("two\r\nlines", false), "\"two\r\nlines\"");
    cr_expect_str_eq(written(NULL, false), "");
}

/* The characters that OWASP names for injection of formulas. */
Test(csv, no_formula_leaves) {
    cr_expect_str_eq(written("=1+1", false), "\"'=1+1\"");
    cr_expect_str_eq(written("@x", false), "\"'@x\"");
    cr_expect_str_eq(written("+49", false), "\"'+49\"");
    cr_expect_str_eq(written("-x", false), "\"'-x\"");
    cr_expect_str_eq(written("\tx", false), "\"'\tx\"");
    cr_expect_str_eq(written("-1.5", true), "-1.5", "a number of ours stays one");
}

static struct hfd_csv csv;
static struct hfd_csv_row row;
static const char *fault;

static bool next(void) {
    return hfd_csv_next(&csv, &arena, &row, &fault);
}

Test(csv, rows) {
    static const char text[] = "\xEF\xBB\xBFname;note\r\n\r\n\"a \"\"b\"\"\";\"x\ny\"\nlast;";
    hfd_csv_begin(&csv, text, sizeof text - 1);
    cr_expect_eq(csv.separator, ';');
    cr_assert(next());
    cr_expect_eq(row.count, 2);
    cr_expect_str_eq(row.cells[0], "name");
    cr_expect_eq(csv.line, 1);
    cr_assert(next());
    cr_expect_str_eq(row.cells[0], "a \"b\"");
    cr_expect_str_eq(row.cells[1], "x\ny");
    cr_expect_eq(csv.line, 3);
    cr_assert(next());
    cr_expect_eq(csv.line, 5);
    cr_expect_str_eq(row.cells[0], "last");
    cr_expect_str_eq(row.cells[1], "");
    cr_expect_not(next());
    cr_expect_null(fault);
}

Test(csv, faults) {
    static const struct {
        const char *text, *fault;
    } cases[] = {{"\"a", "a quote is not closed"}, {"\"a\"b,c", "something follows a closing quote"},
        {"a\"b", "a quote stands inside a cell that does not begin with one"}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        hfd_csv_begin(&csv, cases[i].text, strlen(cases[i].text));
        cr_expect_not(next());
        cr_expect_str_eq(fault, cases[i].fault);
    }
    hfd_csv_begin(&csv, "a\0b", 3);
    cr_expect_not(next());
    cr_expect_not_null(fault);
}

/* What is written is read back, whatever it is. */
Test(csv, back_and_forth) {
    static const char letters[] = "'\"=-+@,;\t\r\n a";
    srand(7);
    for (int round = 0; round < 2000; round++) {
        struct hfd_buf out;
        hfd_buf_init(&out, &arena, 64);
        char cells[3][8];
        for (int c = 0; c < 3; c++) {
            int length = 1 + rand() % 6;
            for (int i = 0; i < length; i++)
                cells[c][i] = letters[rand() % (int)(sizeof letters - 1)];
            cells[c][length] = '\0';
            hfd_csv_cell(&out, c == 0, ',', cells[c], false);
        }
        hfd_csv_line_end(&out);
        hfd_csv_begin(&csv, out.text, out.length);
        csv.separator = ',';
        cr_assert(next(), "%s", out.text);
        cr_assert_eq(row.count, 3, "%s", out.text);
        for (int c = 0; c < 3; c++)
            cr_assert_str_eq(row.cells[c], cells[c]);
    }
}
