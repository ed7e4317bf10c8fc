/* The bearer token of a request, reduced at once to the digest by which the database knows it. */
#ifndef HFD_TOKEN_H
#define HFD_TOKEN_H

#include <stdbool.h>

#define HFD_TOKEN_DIGEST_SIZE 65

/* `authorization`: the header's value, or NULL. False when it is not "Bearer " and one token of the form that
 * we give out. The digest is SHA-256 in hex. */
bool hfd_token_digest(const char *authorization, char digest_hex[HFD_TOKEN_DIGEST_SIZE]);

#endif
