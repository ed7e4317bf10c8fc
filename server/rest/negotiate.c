#include "negotiate.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

static const char *skip_space(const char *p) {
    while (*p == ' ' || *p == '\t')
        p++;
    return p;
}

/* Walks a list of entity tags. A list that is not well formed matches nothing from there on. */
static bool has_tag(const char *field, const char *etag, bool weak_too) {
    const char *p = skip_space(field);
    if (*p == '*' && *skip_space(p + 1) == '\0') return true;
    while (*p != '\0') {
        bool weak = p[0] == 'W' && p[1] == '/';
        if (weak) p += 2;
        if (*p != '"') return false;
        const char *end = strchr(p + 1, '"');
        if (end == NULL) return false;
        size_t length = (size_t)(end + 1 - p);
        bool same = (!weak || weak_too) && strlen(etag) == length && memcmp(p, etag, length) == 0;
        p = skip_space(end + 1);
        if (*p != ',' && *p != '\0') return false;
        if (same) return true;
        while (*p == ',')
            p = skip_space(p + 1);
    }
    return false;
}

bool hfd_if_match(const char *field, const char *etag) {
    return has_tag(field, etag, false);
}
bool hfd_if_none_match(const char *field, const char *etag) {
    return has_tag(field, etag, true);
}

/* Length of the media range at `p` and its quality; *next is behind the comma. */
static size_t media_range(const char *p, double *quality, const char **next) {
    size_t end = strcspn(p, ","), length = strcspn(p, ",; \t");
    *quality = 1.0;
    for (const char *q = p + length; q < p + end; q++)
        if (*q == ';') {
            q = skip_space(q + 1);
            if ((*q == 'q' || *q == 'Q') && q[1] == '=') *quality = strtod(q + 2, NULL);
            q--;
        }
    *next = p[end] == ',' ? p + end + 1 : p + end;
    return length;
}

/* 3 the type itself, 2 its family, 1 anything, 0 no match: the most exact range decides (RFC 9110 §12.5.1).
 */
static int exactness(const char *range, size_t length, const char *media_type) {
    if (length == 3 && memcmp(range, "*/*", 3) == 0) return 1;
    size_t family = strcspn(media_type, "/") + 1;
    if (length == family + 1 && range[family] == '*' && strncasecmp(range, media_type, family) == 0) return 2;
    return strlen(media_type) == length && strncasecmp(range, media_type, length) == 0 ? 3 : 0;
}

static double quality_of(const char *field, const char *media_type) {
    if (field == NULL) return 1.0;
    int best = 0;
    double best_quality = 0.0;
    for (const char *p = skip_space(field); *p != '\0';) {
        double quality;
        const char *next;
        size_t length = media_range(p, &quality, &next);
        int exact = exactness(p, length, media_type);
        if (exact > best) {
            best = exact;
            best_quality = quality;
        }
        p = skip_space(next);
    }
    return best_quality;
}

const char *hfd_accept_best(const char *field, const char *offers, hf_arena *arena) {
    const char *best = NULL;
    double best_quality = 0.0;
    while (*offers != '\0') {
        size_t length = strcspn(offers, ",");
        const char *offer = hf_arena_printf(arena, "%.*s", (int)length, offers);
        double quality = quality_of(field, offer);
        if (quality > best_quality) {
            best = offer;
            best_quality = quality;
        }
        offers += length + strspn(offers + length, ", ");
    }
    return best;
}

/* The first telling of a preference counts (RFC 7240 §2). */
bool hfd_prefers_minimal(const char *field) {
    while (field != NULL && *field != '\0') {
        field = skip_space(field);
        size_t length = strcspn(field, ",;");
        while (length > 0 && (field[length - 1] == ' ' || field[length - 1] == '\t'))
            length--;
        if (strncasecmp(field, "return", 6) == 0 && *skip_space(field + 6) == '=') {
            const char *value = skip_space(skip_space(field + 6) + 1);
            const char *word = *value == '"' ? "\"minimal\"" : "minimal";
            return field + length == value + strlen(word) && strncmp(value, word, strlen(word)) == 0;
        }
        field += strcspn(field, ",");
        if (*field == ',') field++;
    }
    return false;
}

bool hfd_is_media_type(const char *field, const char *media_type) {
    if (field == NULL) return false;
    const char *p = skip_space(field);
    size_t length = strlen(media_type);
    if (strncasecmp(p, media_type, length) != 0) return false;
    p = skip_space(p + length);
    if (*p == '\0') return true;
    if (*p != ';') return false;
    p = skip_space(p + 1);
    static const char *const utf8[] = {"charset=utf-8", "charset=\"utf-8\""};
    for (size_t i = 0; i < 2; i++) {
        size_t n = strlen(utf8[i]);
        if (strncasecmp(p, utf8[i], n) == 0 && *skip_space(p + n) == '\0') return true;
    }
    return *p == '\0';
}
