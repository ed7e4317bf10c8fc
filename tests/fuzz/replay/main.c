/* Runs one fuzzer over given files, without libFuzzer: what once broke something must never again. */
#include <stdio.h>

#include "../text.h"

static int replay(const char *path) {
    FILE *file = fopen(path, "rb");
    if (!file) return 1;
    static uint8_t data[1 << 20];
    size_t size = fread(data, 1, sizeof data, file);
    fclose(file);
    LLVMFuzzerTestOneInput(data, size);
    return 0;
}

int main(int count, char **arguments) {
    for (int i = 1; i < count; i++) {
        if (replay(arguments[i]) != 0) {
            perror(arguments[i]);
            return 1;
        }
    }
    return count > 1 ? 0 : 1;
}
