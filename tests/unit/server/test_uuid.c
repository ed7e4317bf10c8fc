#include <criterion/criterion.h>
#include <string.h>

#include "../../../server/base/clock.h"
#include "../../../server/base/uuid.h"

/* RFC 9562, appendix A.6: the parts and the text of one version 7 value. */
Test(uuid, layout_is_that_of_the_standard) {
    static const unsigned char random[10] = {0x0c, 0xc3, 0x18, 0xc4, 0xdc, 0x0c, 0x0c, 0x07, 0x39, 0x8f};
    char text[HFD_UUID_TEXT_SIZE];
    hfd_uuid_make(0x017f22e279b0, random, text);
    cr_assert_str_eq(text, "017f22e2-79b0-7cc3-98c4-dc0c0c07398f");
}

/* RFC 9562 §4: version and variant stand at fixed places whatever the random bits are. */
Test(uuid, version_and_variant_overwrite_random_bits) {
    static const unsigned char ones[10] = {255, 255, 255, 255, 255, 255, 255, 255, 255, 255}, zeros[10] = {0};
    char text[HFD_UUID_TEXT_SIZE];
    hfd_uuid_make(0, ones, text);
    cr_assert_str_eq(text, "00000000-0000-7fff-bfff-ffffffffffff");
    hfd_uuid_make(0, zeros, text);
    cr_assert_str_eq(text, "00000000-0000-7000-8000-000000000000");
}

Test(uuid, new_ones_carry_the_time_and_differ) {
    char first[HFD_UUID_TEXT_SIZE], second[HFD_UUID_TEXT_SIZE];
    unsigned char none[10] = {0};
    char early[HFD_UUID_TEXT_SIZE], late[HFD_UUID_TEXT_SIZE];
    cr_assert(hfd_uuid_init());
    hfd_uuid_make(hfd_clock_unix_ms(), none, early);
    hfd_uuid_new(first);
    hfd_uuid_new(second);
    hfd_uuid_make(hfd_clock_unix_ms(), none, late);
    cr_assert(hfd_uuid_valid(first));
    cr_assert_str_neq(first, second);
    cr_assert(strncmp(first, early, 13) >= 0 && strncmp(second, late, 13) <= 0, "%s %s", first, second);
}

/* RFC 9562 §4: 8-4-4-4-12 hexadecimal digits, either case on input. */
Test(uuid, valid_texts) {
    cr_assert(hfd_uuid_valid("017F22E2-79B0-7CC3-98C4-DC0C0C07398F"));
    cr_assert(hfd_uuid_valid("00000000-0000-0000-0000-000000000000"));
    static const char *const wrong[] = {"", "017f22e2-79b0-7cc3-98c4-dc0c0c07398",
        "017f22e2-79b0-7cc3-98c4-dc0c0c07398f0", "017f22e279b07cc398c4dc0c0c07398f",
        "017f22e2-79b0-7cc3-98c4_dc0c0c07398f", "{17f22e2-79b0-7cc3-98c4-dc0c0c07398f",
        "017f22e2-79b0-7cc3-98c4-dc0c0c07398g", " 17f22e2-79b0-7cc3-98c4-dc0c0c07398f",
        "017f22e-279b0-7cc3-98c4-dc0c0c07398f"};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        cr_assert(!hfd_uuid_valid(wrong[i]), "%s", wrong[i]);
    }
}
