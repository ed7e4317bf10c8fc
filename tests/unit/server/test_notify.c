#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include "../../../server/app/app.h"

/* sd_notify(3), "Notes": the state is one datagram to the socket that NOTIFY_SOCKET names; a leading @ stands
 * for the NUL of an abstract name. */
static void expect_datagram(const char *name) {
    struct sockaddr_un address = {.sun_family = AF_UNIX};
    size_t length = strlen(name);
    char text[32] = "";
    memcpy(address.sun_path, name, length);
    if (name[0] == '@') address.sun_path[0] = '\0';
    int fd = socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
    cr_assert_eq(bind(fd, (const struct sockaddr *)&address,
                     (socklen_t)(offsetof(struct sockaddr_un, sun_path) + length)),
        0);
    setenv("NOTIFY_SOCKET", name, 1);
    hfd_app_notify("READY=1");
    cr_assert_eq(recv(fd, text, sizeof text, 0), 7, "%s", name);
    cr_assert_str_eq(text, "READY=1");
    close(fd);
}

Test(notify, the_manager_is_told) {
    char name[64];
    snprintf(name, sizeof name, "/tmp/holdfast-notify-%d", (int)getpid());
    expect_datagram(name);
    unlink(name);
    snprintf(name, sizeof name, "@holdfast-notify-%d", (int)getpid());
    expect_datagram(name);
}

Test(notify, no_manager_is_no_fault) {
    unsetenv("NOTIFY_SOCKET");
    hfd_app_notify("READY=1");
    setenv("NOTIFY_SOCKET", "/nowhere/at-all", 1);
    hfd_app_notify("READY=1");
}
