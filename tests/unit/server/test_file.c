#include <criterion/criterion.h>
#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "../../../server/base/file.h"

static void with_file(size_t size, size_t most, bool fits) {
    char path[] = "/tmp/holdfast-file-XXXXXX";
    int fd = mkstemp(path);
    FILE *out = fdopen(fd, "w");
    for (size_t i = 0; i < size; i++) {
        fputc((int)('a' + i % 26), out);
    }
    fclose(out);
    hf_arena arena;
    hf_arena_init(&arena, 4096, 0);
    size_t length = 0;
    const char *text = hfd_file_read(path, most, &arena, &length);
    if (fits) {
        cr_assert_not_null(text);
        cr_assert_eq(length, size);
        cr_assert_eq(strlen(text), size);
        for (size_t i = 0; i < size; i++) {
            cr_assert_eq(text[i], (char)('a' + i % 26));
        }
    } else {
        cr_assert_null(text);
        cr_assert_eq(errno, EFBIG);
    }
    hf_arena_fini(&arena);
    unlink(path);
}

Test(file, whole_content_around_every_growth_and_limit) {
    static const size_t sizes[] = {0, 1, 65535, 65536, 65537, 131072, 131073, 200000};
    for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++) {
        with_file(sizes[i], 1 << 20, true);
        with_file(sizes[i], sizes[i], true);
        if (sizes[i] > 0) with_file(sizes[i], sizes[i] - 1, false);
    }
}

Test(file, a_missing_file_is_told_by_errno) {
    hf_arena arena;
    size_t length;
    hf_arena_init(&arena, 4096, 0);
    cr_assert_null(hfd_file_read("/nowhere/at-all", 10, &arena, &length));
    cr_assert_eq(errno, ENOENT);
    cr_assert_null(hfd_file_read("/tmp", 10, &arena, &length));
    cr_assert_eq(errno, EISDIR);
    hf_arena_fini(&arena);
}
