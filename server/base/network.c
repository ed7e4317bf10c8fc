#include "network.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <stdlib.h>
#include <string.h>

/* IPv4 as IPv6 sees it (::ffff:a.b.c.d), so that there is one way to compare. */
struct network {
    unsigned char address[16];
    int bits;
};

static const unsigned char mapped[12] = {[10] = 0xff, [11] = 0xff};

static bool parse_address(const char *text, unsigned char out[16], int *most) {
    memcpy(out, mapped, sizeof mapped);
    *most = 32;
    if (inet_pton(AF_INET, text, out + sizeof mapped) == 1) return true;
    *most = 128;
    return inet_pton(AF_INET6, text, out) == 1;
}

static bool parse(const char *text, size_t length, struct network *out) {
    char word[64];
    int most;
    if (length >= sizeof word) return false;
    memcpy(word, text, length);
    word[length] = '\0';
    char *slash = strchr(word, '/');
    if (slash == NULL) return false;
    *slash++ = '\0';
    size_t digits = strspn(slash, "0123456789");
    if (!parse_address(word, out->address, &most) || digits == 0 || digits > 3 || slash[digits] != '\0')
        return false;
    out->bits = (int)strtol(slash, NULL, 10);
    bool fits = out->bits <= most;
    out->bits += 128 - most;
    return fits;
}

static bool address_of(const struct sockaddr *address, unsigned char out[16]) {
    if (address->sa_family == AF_INET) {
        memcpy(out, mapped, sizeof mapped);
        memcpy(out + sizeof mapped, &((const struct sockaddr_in *)(const void *)address)->sin_addr, 4);
        return true;
    }
    if (address->sa_family != AF_INET6) return false;
    memcpy(out, &((const struct sockaddr_in6 *)(const void *)address)->sin6_addr, 16);
    return true;
}

static bool contains(const struct network *network, const unsigned char address[16]) {
    int whole = network->bits / 8, rest = network->bits % 8;
    if (memcmp(network->address, address, (size_t)whole) != 0) return false;
    return rest == 0 || (network->address[whole] ^ address[whole]) >> (8 - rest) == 0;
}

/* The next word and its length; NULL at the end. */
static const char *word(const char *list, size_t *length) {
    list += strspn(list, " ");
    *length = strcspn(list, " ");
    return *length > 0 ? list : NULL;
}

bool hfd_networks_valid(const char *list) {
    size_t length;
    struct network network;
    for (const char *p = list; (p = word(p, &length)) != NULL; p += length)
        if (!parse(p, length, &network)) return false;
    return true;
}

bool hfd_networks_have(const char *list, const struct sockaddr *address) {
    size_t length;
    struct network network;
    unsigned char bytes[16];
    if (!address_of(address, bytes)) return false;
    for (const char *p = list; (p = word(p, &length)) != NULL; p += length)
        if (parse(p, length, &network) && contains(&network, bytes)) return true;
    return false;
}

bool hfd_address_is_public(const struct sockaddr *address) {
    static const char closed[] =
        "0.0.0.0/8 10.0.0.0/8 100.64.0.0/10 127.0.0.0/8 169.254.0.0/16 172.16.0.0/12 192.0.0.0/24 192.0.2.0/24 "
        "192.88.99.0/24 192.168.0.0/16 198.18.0.0/15 198.51.100.0/24 203.0.113.0/24 224.0.0.0/4 240.0.0.0/4 "
        /* Those that carry an IPv4 address inside lead to any of the above. */
        "2001::/23 2001:db8::/32 2002::/16 3fff::/20";
    static const char open[] = "0.0.0.0/0 2000::/3";
    return hfd_networks_have(open, address) && !hfd_networks_have(closed, address);
}
