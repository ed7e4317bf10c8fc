#include "names.h"

#include <stdlib.h>
#include <string.h>

/* Index of `name`, or of the place where it belongs. */
static size_t place(const struct hfd_names *names, const char *name, bool *found) {
    size_t low = 0, high = names->count;
    *found = false;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        const int order = strcmp(names->items[middle], name);
        if (order == 0) {
            *found = true;
            return middle;
        }
        if (order < 0) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low;
}

bool hfd_names_has(const struct hfd_names *names, const char *name) {
    bool found;
    place(names, name, &found);
    return found;
}

bool hfd_names_add(struct hfd_names *names, const char *name) {
    bool found;
    const size_t at = place(names, name, &found);
    if (found) return true;
    if (names->count == names->room) {
        const size_t room = names->room > 0 ? names->room * 2 : 32;
        char **items = realloc(names->items, room * sizeof *items);
        if (items == NULL) return false;
        names->items = items;
        names->room = room;
    }
    char *copy = strdup(name);
    if (copy == NULL) return false;
    memmove(names->items + at + 1, names->items + at, (names->count - at) * sizeof *names->items);
    names->items[at] = copy;
    names->count++;
    return true;
}

void hfd_names_remove(struct hfd_names *names, const char *name) {
    bool found;
    const size_t at = place(names, name, &found);
    if (!found) return;
    free(names->items[at]);
    names->count--;
    memmove(names->items + at, names->items + at + 1, (names->count - at) * sizeof *names->items);
}

void hfd_names_fini(struct hfd_names *names) {
    for (size_t i = 0; i < names->count; i++)
        free(names->items[i]);
    free(names->items);
    *names = (struct hfd_names){0};
}
