/* UUID version 7 (RFC 9562 §5.7): sorted by time of birth, 74 random bits, so neither guessable nor scattered
 * in an index. */
#ifndef HFD_UUID_H
#define HFD_UUID_H

#include <stdbool.h>
#include <stdint.h>

#define HFD_UUID_TEXT_SIZE 37

/* Once, before the first thread. False: the system gives no randomness. */
bool hfd_uuid_init(void);
void hfd_uuid_new(char out[HFD_UUID_TEXT_SIZE]);
/* The same from given parts; the bits of version and variant are set over `random`. */
void hfd_uuid_make(int64_t unix_ms, const unsigned char random[10], char out[HFD_UUID_TEXT_SIZE]);
/* 8-4-4-4-12 hexadecimal digits in either case, any version, nothing before or after. */
bool hfd_uuid_valid(const char *text);

#endif
