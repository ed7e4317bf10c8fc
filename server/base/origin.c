#include "origin.h"

#include <string.h>

static bool is_origin(const char *text, size_t length) {
    static const char *const schemes[] = {"https://", "http://"};
    for (size_t i = 0; i < 2; i++) {
        size_t start = strlen(schemes[i]);
        if (length <= start || memcmp(text, schemes[i], start) != 0) continue;
        const char *host = text + start;
        size_t rest = length - start;
        bool bracketed = *host == '[';
        size_t name = bracketed ? strspn(host + 1, "0123456789abcdef:.") + 2
                                : strspn(host, "abcdefghijklmnopqrstuvwxyz0123456789-._");
        if (name == 0 || name > rest || (bracketed && host[name - 1] != ']')) return false;
        if (name == rest) return true;
        size_t digits = strspn(host + name + 1, "0123456789");
        return host[name] == ':' && digits > 0 && digits <= 5 && name + 1 + digits == rest;
    }
    return false;
}

/* The next word and its length; NULL at the end. */
static const char *word(const char *list, size_t *length) {
    list += strspn(list, " ");
    *length = strcspn(list, " ");
    return *length > 0 ? list : NULL;
}

bool hfd_origins_valid(const char *list) {
    size_t length;
    for (const char *p = list; (p = word(p, &length)) != NULL; p += length)
        if (!is_origin(p, length)) return false;
    return true;
}

bool hfd_origins_have(const char *list, const char *origin) {
    size_t length;
    for (const char *p = list; (p = word(p, &length)) != NULL; p += length)
        if (strlen(origin) == length && memcmp(p, origin, length) == 0) return true;
    return false;
}
