#include <criterion/criterion.h>
#include <string.h>

#include "../../../server/base/signature.h"

/* Computed twice, by the reference library of Standard Webhooks (npm standardwebhooks 1.1.1) and by plain
 * HMAC. */
Test(signature, is_that_of_standard_webhooks) {
    char out[HFD_SIGNATURE_SIZE];
    cr_assert(hfd_signature(
        "whsec_MDEyMzQ1Njc4OWFiY2RlZjAxMjM0NTY3ODlhYmNkZWY=", "msg_0001", 1767225600, "{}", out));
    cr_assert_str_eq(out, "v1,2XlAJh2apaEp7ZHAURFLK2NzgyRToL1qIcpRtq6bD8I=");
}

Test(signature, needs_a_secret) {
    char out[HFD_SIGNATURE_SIZE];
    static const char *const none[] = {"", "whsec", "MDEyMzQ1Njc4OWFiY2RlZg==", "whsec_*", "whsec_MDEy MzQ1"};
    for (size_t i = 0; i < sizeof none / sizeof *none; i++)
        cr_assert_not(hfd_signature(none[i], "msg_1", 1, "{}", out), "%s", none[i]);
}

Test(signature, secrets_differ_and_are_of_the_form) {
    char a[HFD_SIGNING_SECRET_LENGTH + 1], b[HFD_SIGNING_SECRET_LENGTH + 1], out[HFD_SIGNATURE_SIZE];
    hfd_signing_secret_new(a);
    hfd_signing_secret_new(b);
    cr_assert(strlen(a) == HFD_SIGNING_SECRET_LENGTH && strncmp(a, "whsec_", 6) == 0 && strcmp(a, b) != 0);
    cr_assert(hfd_signature(a, "msg_1", 1, "{}", out));
}
