#include <arpa/inet.h>
#include <criterion/criterion.h>
#include <netinet/in.h>

#include "../../../server/base/network.h"

union address {
    struct sockaddr any;
    struct sockaddr_in v4;
    struct sockaddr_in6 v6;
};

static union address of(const char *text) {
    union address out = {0};
    if (inet_pton(AF_INET, text, &out.v4.sin_addr) == 1) {
        out.any.sa_family = AF_INET;
    } else {
        cr_assert_eq(inet_pton(AF_INET6, text, &out.v6.sin6_addr), 1, "%s", text);
        out.any.sa_family = AF_INET6;
    }
    return out;
}

/* IANA IPv4 and IPv6 Special-Purpose Address Registries: globally reachable, or not; ends of the ranges. */
Test(network, public_addresses) {
    static const char *const yes[] = {"1.1.1.1", "9.255.255.255", "11.0.0.0", "100.63.255.255", "100.128.0.0",
        "126.255.255.255", "128.0.0.0", "169.253.255.255", "169.255.0.0", "172.15.255.255", "172.32.0.0",
        "192.167.255.255", "192.169.0.0", "223.255.255.255", "2606:4700::1111", "::ffff:8.8.8.8"};
    static const char *const no[] = {"0.0.0.0", "10.0.0.0", "10.255.255.255", "100.64.0.0", "100.127.255.255",
        "127.0.0.1", "127.255.255.255", "169.254.169.254", "172.16.0.0", "172.31.255.255", "192.168.0.1",
        "198.18.0.0", "198.19.255.255", "192.0.2.1", "224.0.0.1", "255.255.255.255", "::", "::1",
        "::ffff:127.0.0.1", "::ffff:10.0.0.1", "fe80::1", "fc00::1", "fd12::1", "ff02::1", "2001:db8::1",
        "2002:7f00:1::", "64:ff9b::a00:1", "2001::1"};
    for (size_t i = 0; i < sizeof yes / sizeof *yes; i++) {
        union address a = of(yes[i]);
        cr_expect(hfd_address_is_public(&a.any), "%s", yes[i]);
    }
    for (size_t i = 0; i < sizeof no / sizeof *no; i++) {
        union address a = of(no[i]);
        cr_expect_not(hfd_address_is_public(&a.any), "%s", no[i]);
    }
    union address local = {.any.sa_family = AF_UNIX};
    cr_expect_not(hfd_address_is_public(&local.any));
}

Test(network, lists) {
    cr_expect(hfd_networks_valid("") && hfd_networks_valid(" 10.1.2.0/24  fd00::/8 0.0.0.0/0 ::1/128 "));
    static const char *const faulty[] = {"10.0.0.0", "10.0.0.0/33", "10.0.0/8", "localhost/8", "::1/129",
        "10.0.0.0/", "10.0.0.0/8,", "10.0.0.0/-1", "10.0.0.0/8x"};
    for (size_t i = 0; i < sizeof faulty / sizeof *faulty; i++)
        cr_expect_not(hfd_networks_valid(faulty[i]), "%s", faulty[i]);
    union address in = of("10.1.2.255"), out = of("10.1.3.0"), mapped = of("::ffff:10.1.2.3"),
                  six = of("fd00::7");
    cr_expect(hfd_networks_have("192.168.0.0/16 10.1.2.0/24", &in.any));
    cr_expect(hfd_networks_have("10.1.2.0/24", &mapped.any));
    cr_expect_not(hfd_networks_have("192.168.0.0/16 10.1.2.0/24", &out.any));
    cr_expect(hfd_networks_have("10.1.2.0/23", &out.any), "rest of a byte");
    cr_expect_not(hfd_networks_have("10.1.2.0/24 ::/8", &six.any));
    cr_expect(hfd_networks_have("fd00::/8", &six.any));
    cr_expect_not(hfd_networks_have("", &in.any));
}
