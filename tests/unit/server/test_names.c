#include "../../../server/store/names.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

/* A set of the numbers below 997 as text, filled and emptied in the order of a walk with a step prime to it,
 * against a plain table of flags. */
Test(names, agrees_with_a_table_of_flags) {
    enum { size = 997, step = 386 };
    bool there[size] = {false};
    struct hfd_names names = {0};
    char name[16];
    for (int round = 0; round < 3 * size; round++) {
        const int at = round * step % size;
        snprintf(name, sizeof name, "%d", at);
        if (there[at] && round % 2 == 0) {
            hfd_names_remove(&names, name);
            there[at] = false;
        } else {
            cr_assert(hfd_names_add(&names, name));
            there[at] = true;
        }
        memset(name, 'x', sizeof name - 1); /* the set has its own copy */
    }
    size_t count = 0;
    for (int i = 0; i < size; i++) {
        snprintf(name, sizeof name, "%d", i);
        cr_assert_eq(hfd_names_has(&names, name), there[i], "%s", name);
        count += there[i];
    }
    cr_assert_eq(names.count, count);
    cr_assert_gt(count, 0);
    cr_assert_lt(count, size);
    hfd_names_remove(&names, "never there");
    cr_assert_eq(names.count, count);
    hfd_names_fini(&names);
    cr_assert_not(hfd_names_has(&names, "1"));
}
