#include "../../../server/auth/token.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "../../../server/base/secret.h"

/* SHA-256 of the 46 characters after "Bearer ", by coreutils: printf %s hf_… | sha256sum */
static const char known[] = "hf_AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8";
static const char known_sha256[] = "6cdf987ef66bb76f157430016a6f5d8ddc62aaf20c251cc4714c56bbacdf8f71";

Test(token, digest_is_sha256_of_the_text) {
    char header[128], digest[HFD_TOKEN_DIGEST_SIZE];
    snprintf(header, sizeof header, "Bearer %s", known);
    cr_assert(hfd_token_digest(header, digest));
    cr_assert_str_eq(digest, known_sha256);
}

Test(token, scheme_ignores_case) {
    char header[128], digest[HFD_TOKEN_DIGEST_SIZE];
    snprintf(header, sizeof header, "bEARER %s", known);
    cr_assert(hfd_token_digest(header, digest), "RFC 9110 §11.1: the scheme is case-insensitive");
    cr_assert_str_eq(digest, known_sha256);
}

Test(token, anything_else_is_refused) {
    static const char *const headers[] = {
        NULL,
        "",
        "Bearer",
        "Bearer ",
        "hf_AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8",
        "Basic hf_AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8",
        "Bearer  hf_AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8",
        " Bearer hf_AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8",
        "Bearer hf_AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8 ",
        "Bearer hf_AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8x",
        "Bearer hf_AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh",
        "Bearer HF_AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8",
        "Bearer hf-AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8",
        "Bearer hf_AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh=",
        "Bearer hf_AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdH+8",
        "Bearer hf_AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdH/8",
        "Bearer hf_AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwd\xc3\xa9"
        "8",
        "Bearer hf_AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8, Bearer x",
    };
    for (size_t i = 0; i < sizeof headers / sizeof *headers; i++) {
        char digest[HFD_TOKEN_DIGEST_SIZE];
        cr_assert_not(hfd_token_digest(headers[i], digest), "%s", headers[i]);
    }
}

Test(token, a_new_secret_is_a_token) {
    char secret[HFD_SECRET_LENGTH + 1], header[128], digest[HFD_TOKEN_DIGEST_SIZE];
    hfd_secret_new(HFD_TOKEN_PREFIX, secret);
    cr_assert_eq(strlen(secret), HFD_SECRET_LENGTH);
    snprintf(header, sizeof header, "Bearer %s", secret);
    cr_assert(hfd_token_digest(header, digest), "%s", secret);
}

/* 32 random bytes: each of the 42 characters of 6 free bits must be seen to vary over all 64 letters. In 4096
 * secrets a letter is missing at one place with probability 64 exp(-64) per place. */
Test(token, every_character_of_a_secret_is_random) {
    bool seen[HFD_SECRET_LENGTH][256] = {{false}};
    char secret[HFD_SECRET_LENGTH + 1];
    for (int i = 0; i < 4096; i++) {
        hfd_secret_new(HFD_TOKEN_PREFIX, secret);
        for (size_t at = 0; at < HFD_SECRET_LENGTH; at++)
            seen[at][(unsigned char)secret[at]] = true;
    }
    for (size_t at = 3; at < HFD_SECRET_LENGTH - 1; at++) {
        int letters = 0;
        for (int letter = 0; letter < 256; letter++)
            letters += seen[at][letter];
        cr_assert_eq(letters, 64, "character %zu takes %d letters", at, letters);
    }
}
