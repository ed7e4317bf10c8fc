/* What a client says in header fields about representations: preconditions (RFC 9110 §13), Accept and
 * Content-Type. */
#ifndef HFD_NEGOTIATE_H
#define HFD_NEGOTIATE_H

#include <stdbool.h>

/* `field` is a list of entity tags or "*". Strong comparison: a weak tag never matches. */
bool hfd_if_match(const char *field, const char *etag);
/* Weak comparison, as If-None-Match asks. */
bool hfd_if_none_match(const char *field, const char *etag);

/* Does an Accept field (NULL: anything) take `media_type` with a quality above 0? */
bool hfd_accepts(const char *field, const char *media_type);

/* Is a Content-Type field this media type? Parameters: charset=utf-8 or none. */
bool hfd_is_media_type(const char *field, const char *media_type);

#endif
