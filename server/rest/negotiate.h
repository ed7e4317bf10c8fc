/* What a client says in header fields about representations: preconditions (RFC 9110 §13), Accept,
 * Content-Type and Prefer. */
#ifndef HFD_NEGOTIATE_H
#define HFD_NEGOTIATE_H

#include <stdbool.h>

#include "../../core/arena.h"

/* `field` is a list of entity tags or "*". Strong comparison: a weak tag never matches. */
bool hfd_if_match(const char *field, const char *etag);
/* Weak comparison, as If-None-Match asks. */
bool hfd_if_none_match(const char *field, const char *etag);

/* Of the offers ("application/json, text/html") the one that an Accept field (NULL: anything) likes best, the
 * first of equals; NULL: none. */
const char *hfd_accept_best(const char *field, const char *offers, hf_arena *arena);

/* Does a Prefer field (RFC 7240; NULL: no wish) say return=minimal? */
bool hfd_prefers_minimal(const char *field);

/* Is a Content-Type field this media type? Parameters: charset=utf-8 or none. */
bool hfd_is_media_type(const char *field, const char *media_type);

#endif
