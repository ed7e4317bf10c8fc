/* Percent-encoded text (RFC 3986 §2.1) both ways, and "a=1&b=2" as queries and forms of web pages have it. */
#ifndef HFD_FORM_H
#define HFD_FORM_H

#include "buf.h"
#include "exchange.h"

enum hfd_encoded {
    HFD_IN_PATH,  /* a slash is refused: it would look like a separator */
    HFD_IN_QUERY, /* + is a space */
    HFD_IN_FORM   /* the same; a field may have lines */
};

/* Decodes `from` to `*to`, ends it with NUL and moves `*to` behind it; at most length + 1 bytes. NULL, or
 * what is wrong. */
const char *hfd_percent_decode(const char *from, size_t length, enum hfd_encoded where, char **to);

#define HFD_PAIRS_MAX 256

/* In order, all in the arena. NULL, or what is wrong. */
const char *hfd_pairs_decode(
    const char *text, enum hfd_encoded where, hf_arena *arena, const struct hfd_pair **pairs, size_t *count);
/* NULL when absent. */
const char *hfd_pairs_find(const struct hfd_pair *pairs, size_t count, const char *name);

/* For a value in a query. */
void hfd_buf_percent(struct hfd_buf *buf, const char *text);

#endif
