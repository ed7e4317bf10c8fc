#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include "app.h"

/* The protocol of sd_notify(3): one datagram to a local socket; a leading @ means an abstract name. */
void hfd_app_notify(const char *state) {
    const char *path = getenv("NOTIFY_SOCKET");
    struct sockaddr_un address = {.sun_family = AF_UNIX};
    size_t length = path ? strlen(path) : 0;
    if (length == 0 || length >= sizeof address.sun_path) return;
    memcpy(address.sun_path, path, length);
    if (path[0] == '@') address.sun_path[0] = '\0';
    int fd = socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC, 0);
    if (fd < 0) return;
    socklen_t size = (socklen_t)(offsetof(struct sockaddr_un, sun_path) + length);
    /* A manager that does not listen finds out by its own time limit. */
    (void)!sendto(fd, state, strlen(state), MSG_NOSIGNAL, (const struct sockaddr *)&address, size);
    close(fd);
}
