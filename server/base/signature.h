/* Signatures of webhooks (Standard Webhooks 1.0). */
#ifndef HFD_SIGNATURE_H
#define HFD_SIGNATURE_H

#include <stdbool.h>
#include <stdint.h>

/* "whsec_" and the base64 of 32 random bytes. */
#define HFD_SIGNING_SECRET_LENGTH 50
void hfd_signing_secret_new(char out[HFD_SIGNING_SECRET_LENGTH + 1]);

/* "v1," and the base64 of HMAC-SHA256 over "id.timestamp.body". False: `secret` is none. */
#define HFD_SIGNATURE_SIZE 48
bool hfd_signature(
    const char *secret, const char *id, int64_t timestamp_s, const char *body, char out[HFD_SIGNATURE_SIZE]);

#endif
