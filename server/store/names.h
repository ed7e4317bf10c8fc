/* A sorted set of texts, copied: the statements that a connection has prepared. */
#ifndef HFD_NAMES_H
#define HFD_NAMES_H

#include <stdbool.h>
#include <stddef.h>

struct hfd_names {
    char **items;
    size_t count, room;
};

bool hfd_names_has(const struct hfd_names *names, const char *name);
/* False when memory is short. */
bool hfd_names_add(struct hfd_names *names, const char *name);
void hfd_names_remove(struct hfd_names *names, const char *name);
void hfd_names_fini(struct hfd_names *names);

#endif
