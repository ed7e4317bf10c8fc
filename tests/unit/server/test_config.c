#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "../../../server/base/file.h"
#include "../../../server/base/log.h"
#include "../../../server/config/config.h"

struct outcome {
    bool sound;
    struct hfd_config config;
    char complaints[2048];
    hf_arena arena;
};

static void read_into(struct outcome *out, const char *text, char *const *environment) {
    hf_arena_init(&out->arena, 4096, 0);
    FILE *complaints = fmemopen(out->complaints, sizeof out->complaints, "w");
    out->sound = hfd_config_read(&out->config, "test.conf", text, environment, &out->arena, complaints);
    fclose(complaints);
}

/* The defaults are promised in deploy/holdfastd.conf.example and by --help. */
Test(config, defaults) {
    struct outcome out = {0};
    read_into(&out, NULL, NULL);
    cr_assert(out.sound);
    cr_assert_str_eq(out.config.listen_address, "127.0.0.1");
    cr_assert_eq(out.config.port, 8080);
    cr_assert_eq(out.config.workers, 4);
    cr_assert_eq(out.config.queue_length, 64);
    cr_assert_eq(out.config.http_threads, 2);
    cr_assert_eq(out.config.max_body_bytes, 1048576);
    cr_assert_eq(out.config.request_deadline_s, 10);
    cr_assert_eq(out.config.log_level, HFD_LOG_INFO);
    cr_assert(!out.config.allow_plain_http_on_public_address);
    hf_arena_fini(&out.arena);
}

Test(config, file_then_environment) {
    struct outcome out = {0};
    char *environment[] = {
        "PATH=/bin", "HOLDFAST_PORT=9000", "HOLDFAST_PORTS=1", "HOLDFAST_LOG_LEVEL=debug", NULL};
    read_into(&out,
        "# comment\n\n port = 8000 \nworkers=2\r\n\tdatabase\t= host=a password=x=y # z\n"
        "allow_plain_http_on_public_address = yes\nlisten_address = ::1",
        environment);
    cr_assert(out.sound, "%s", out.complaints);
    cr_assert_eq(out.config.port, 9000);
    cr_assert_eq(out.config.workers, 2);
    cr_assert_str_eq(out.config.database, "host=a password=x=y # z");
    cr_assert_eq(out.config.log_level, HFD_LOG_DEBUG);
    cr_assert(out.config.allow_plain_http_on_public_address);
    cr_assert_str_eq(out.config.listen_address, "::1");
    hf_arena_fini(&out.arena);
}

Test(config, every_fault_is_told_with_its_line) {
    struct outcome out = {0};
    char *environment[] = {"HOLDFAST_WORKERS=0", "HOLDFAST_LOG_LEVEL=loud", NULL};
    read_into(&out,
        "port = 65536\nnonsense\ncolour = red\nworkers = 3\nworkers = 4\nqueue_length = 12x\ndrain_s = -1\n"
        "keep_alive_s =\nmax_body_bytes = 99999999999999999999\nallow_plain_http_on_public_address = true\n"
        "database = @/nowhere/at-all",
        environment);
    cr_assert(!out.sound);
    static const char *const told[] = {
        "test.conf:1: port must be a whole number from 0 to 65535, not \"65536\"",
        "test.conf:2: ", "test.conf:3: there is no setting \"colour\"",
        "test.conf:5: workers stands already in line 4", "test.conf:6: queue_length", "test.conf:7: drain_s",
        "test.conf:8: keep_alive_s", "test.conf:9: max_body_bytes",
        "test.conf:10: allow_plain_http_on_public_address must be yes or no",
        "test.conf:11: database cannot be read",
        "HOLDFAST_WORKERS: workers must be a whole number from 1 to 64", "HOLDFAST_LOG_LEVEL: log_level"};
    size_t lines = 0;
    for (const char *c = out.complaints; *c; c++) {
        if (*c == '\n') lines++;
    }
    for (size_t i = 0; i < sizeof told / sizeof told[0]; i++) {
        cr_expect(strstr(out.complaints, told[i]), "missing: %s in\n%s", told[i], out.complaints);
    }
    cr_assert_eq(lines, sizeof told / sizeof told[0], "%s", out.complaints);
    hf_arena_fini(&out.arena);
}

Test(config, secrets_come_from_files_and_are_never_printed) {
    struct outcome out = {0};
    char path[] = "/tmp/holdfast-secret-XXXXXX", line[64], printed[2048] = "";
    int fd = mkstemp(path);
    cr_assert(write(fd, "host=db password=hush\n", 22) == 22);
    close(fd);
    snprintf(line, sizeof line, "database = @%s\n", path);
    read_into(&out, line, NULL);
    unlink(path);
    cr_assert(out.sound, "%s", out.complaints);
    cr_assert_str_eq(out.config.database, "host=db password=hush");
    FILE *print = fmemopen(printed, sizeof printed, "w");
    hfd_config_print(&out.config, print);
    fclose(print);
    cr_assert(strstr(printed, "\nport = 8080\n"), "%s", printed);
    cr_assert(strstr(printed, "\ndatabase = (") && !strstr(printed, "hush") && !strstr(printed, "host=db"));
    hf_arena_fini(&out.arena);
}

/* What is printed is a configuration again: every key, in the order of the alphabet, at a value it may have.
 */
Test(config, printed_settings_can_be_read_back) {
    struct outcome first = {0}, second = {0};
    char printed[2048] = "";
    read_into(&first,
        "port = 1\nhttp_threads = 3\nlog_level = error\nallow_plain_http_on_public_address = yes\n", NULL);
    FILE *print = fmemopen(printed, sizeof printed, "w");
    hfd_config_print(&first.config, print);
    fclose(print);
    read_into(&second, printed, NULL);
    cr_assert(second.sound, "%s", second.complaints);
    cr_assert_eq(second.config.port, 1);
    cr_assert_eq(second.config.http_threads, 3);
    cr_assert_eq(second.config.log_level, HFD_LOG_ERROR);
    cr_assert(second.config.allow_plain_http_on_public_address);
    char previous[64] = "";
    for (char *text = printed; *text; text = strchr(text, '\n') + 1) {
        char name[64];
        cr_assert_eq(sscanf(text, "%63s =", name), 1);
        cr_assert(strcmp(previous, name) < 0, "%s before %s", previous, name);
        memcpy(previous, name, sizeof name);
    }
    hf_arena_fini(&first.arena);
    hf_arena_fini(&second.arena);
}

/* The example that is installed says what the defaults are, of every key, and can be used as it stands. */
Test(config, the_example_shows_every_default) {
    struct outcome example = {0}, nothing = {0};
    char of_example[2048] = "", of_nothing[2048] = "";
    hf_arena arena;
    size_t length;
    hf_arena_init(&arena, 4096, 0);
    const char *text = hfd_file_read("deploy/holdfastd.conf.example", 65536, &arena, &length);
    cr_assert_not_null(text, "run from the top of the checkout");
    read_into(&example, text, NULL);
    read_into(&nothing, NULL, NULL);
    cr_assert(example.sound, "%s", example.complaints);
    FILE *print = fmemopen(of_example, sizeof of_example, "w");
    hfd_config_print(&example.config, print);
    fclose(print);
    print = fmemopen(of_nothing, sizeof of_nothing, "w");
    hfd_config_print(&nothing.config, print);
    fclose(print);
    cr_assert_str_eq(of_example, of_nothing);
    for (const char *line = of_nothing; *line; line = strchr(line, '\n') + 1) {
        char shown[80];
        snprintf(shown, sizeof shown, "%.*s", (int)strcspn(line, "="), line);
        cr_assert(strstr(text, shown), "%s is not in the example", shown);
    }
    hf_arena_fini(&arena);
    hf_arena_fini(&example.arena);
    hf_arena_fini(&nothing.arena);
}
