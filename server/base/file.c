#include "file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <string.h>
#include <unistd.h>

static const size_t first_room = 65536;

static char *read_all(int fd, size_t most, hf_arena *arena, size_t *length) {
    size_t room = most < first_room ? most : first_room;
    char *text = hf_arena_alloc(arena, room + 1);
    *length = 0;
    for (;;) {
        /* At the limit one byte more is asked for, to see whether there is one. */
        ssize_t got = read(fd, text + *length, room + 1 - *length);
        if (got < 0 && errno == EINTR) continue;
        if (got < 0) return NULL;
        if (got == 0) break;
        *length += (size_t)got;
        if (*length <= room) continue;
        if (room == most) {
            errno = EFBIG;
            return NULL;
        }
        room = room > most / 2 ? most : 2 * room;
        char *larger = hf_arena_alloc(arena, room + 1);
        memcpy(larger, text, *length);
        text = larger;
    }
    text[*length] = '\0';
    return text;
}

char *hfd_file_read(const char *path, size_t most, hf_arena *arena, size_t *length) {
    if (strcmp(path, "-") == 0) return read_all(STDIN_FILENO, most, arena, length);
    int fd = open(path, O_RDONLY | O_CLOEXEC);
    if (fd < 0) return NULL;
    char *text = read_all(fd, most, arena, length);
    int error = errno;
    close(fd);
    errno = error;
    return text;
}
