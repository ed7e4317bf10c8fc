/* A secret of 256 random bits as text: "hf_" and 43 characters of base64url (RFC 4648 §5, no padding). The
 * prefix lets people and scanners see what leaked. */
#ifndef HFD_SECRET_H
#define HFD_SECRET_H

#define HFD_SECRET_PREFIX "hf_"
#define HFD_SECRET_LENGTH 46

void hfd_secret_new(char out[HFD_SECRET_LENGTH + 1]);

#endif
