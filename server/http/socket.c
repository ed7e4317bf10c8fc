#include <arpa/inet.h>
#include <errno.h>
#include <netinet/in.h>
#include <stdio.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#include "inside.h"

union address {
    struct sockaddr any;
    struct sockaddr_in v4;
    struct sockaddr_in6 v6;
};

static socklen_t parse(const char *text, unsigned port, union address *out) {
    memset(out, 0, sizeof *out);
    if (inet_pton(AF_INET, text, &out->v4.sin_addr) == 1) {
        out->v4.sin_family = AF_INET;
        out->v4.sin_port = htons((uint16_t)port);
        return sizeof out->v4;
    }
    if (inet_pton(AF_INET6, text, &out->v6.sin6_addr) == 1) {
        out->v6.sin6_family = AF_INET6;
        out->v6.sin6_port = htons((uint16_t)port);
        return sizeof out->v6;
    }
    return 0;
}

static bool is_loopback(const union address *address) {
    if (address->any.sa_family == AF_INET) return ntohl(address->v4.sin_addr.s_addr) >> 24 == 127;
    const struct in6_addr *v6 = &address->v6.sin6_addr;
    return IN6_IS_ADDR_LOOPBACK(v6) || (IN6_IS_ADDR_V4MAPPED(v6) && v6->s6_addr[12] == 127);
}

static void explain(const struct hfd_http_config *config, int error) {
    if (error == EADDRINUSE) {
        fprintf(stderr,
            "holdfastd: port %u on %s is taken by another program; choose another one: PORT=%u with make run, "
            "or `port` in the configuration (HOLDFAST_PORT)\n",
            config->port, config->address, config->port < 65535 ? config->port + 1 : 8080);
    } else {
        fprintf(stderr, "holdfastd: cannot listen on %s port %u: %s\n", config->address, config->port,
            strerror(error));
    }
}

int hfd_socket_listen(const struct hfd_http_config *config, unsigned *port) {
    union address address;
    socklen_t length = parse(config->address, config->port, &address);
    if (length == 0) {
        fprintf(stderr, "holdfastd: listen_address must be an IPv4 or IPv6 address in digits, not \"%s\"\n",
            config->address);
        return -1;
    }
    if (!is_loopback(&address) && !config->public_allowed && !config->certificate) {
        fprintf(stderr,
            "holdfastd: %s can be reached from other machines and this is plain HTTP: set tls_certificate and tls_key, "
            "or listen on 127.0.0.1 behind a TLS proxy, or set allow_plain_http_on_public_address = yes\n",
            config->address);
        return -1;
    }
    int on = 1;
    int fd = socket(address.any.sa_family, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
    if (fd < 0 || setsockopt(fd, SOL_SOCKET, SO_REUSEADDR, &on, sizeof on) != 0 ||
        bind(fd, &address.any, length) != 0 || listen(fd, SOMAXCONN) != 0 ||
        getsockname(fd, &address.any, &length) != 0) {
        explain(config, errno);
        if (fd >= 0) close(fd);
        return -1;
    }
    *port = ntohs(address.any.sa_family == AF_INET ? address.v4.sin_port : address.v6.sin6_port);
    return fd;
}
