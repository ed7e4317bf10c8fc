#include <stdio.h>

#include "../rest/openapi.h"
#include "app.h"

int hfd_app_openapi(void) {
    hf_arena arena;
    struct hfd_buf text;
    hf_arena_init(&arena, 0, 0);
    hfd_buf_init(&text, &arena, 131072);
    hfd_openapi_write(&text, hfd_resources);
    bool written = fwrite(text.text, 1, text.length, stdout) == text.length && fflush(stdout) == 0;
    if (!written) fputs("holdfastd: the description could not be written\n", stderr);
    hf_arena_fini(&arena);
    return written ? 0 : 1;
}
