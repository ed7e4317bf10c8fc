/* A secret of 256 random bits as text: a prefix and 43 characters of base64url (RFC 4648 §5, no padding). The
 * prefix lets people and scanners see what leaked, and keeps one kind from being taken for another. */
#ifndef HFD_SECRET_H
#define HFD_SECRET_H

#include <stdbool.h>

#define HFD_TOKEN_PREFIX "hf_"
#define HFD_SESSION_PREFIX "hs_"
#define HFD_SECRET_LENGTH 46

void hfd_secret_new(const char prefix[static 4], char out[HFD_SECRET_LENGTH + 1]);
/* Is `text`, of HFD_SECRET_LENGTH characters at least, one by its form? Looks at every character whatever the
 * ones before: the time taken tells nothing about it. */
bool hfd_secret_well_formed(const char prefix[static 4], const char *text);

#endif
