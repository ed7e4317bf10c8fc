#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../../core/evaluate.h"
#include "../base/uuid.h"
#include "../store/admin.h"
#include "app.h"

enum { USAGE = 2 };

/* One call of the program, taken apart. */
struct call {
    struct hfd_config config;
    char *const *environment;
    char **arguments; /* behind the command's words */
    int count;
};

static int serve(struct call *call) {
    hfd_config_log_strangers(call->environment);
    return hfd_app_serve(&call->config);
}

static int evaluate(struct call *call) {
    return hfd_app_evaluate(call->arguments[0]);
}

static int openapi(struct call *call) {
    (void)call;
    return hfd_app_openapi();
}

static int check(struct call *call) {
    return hfd_app_check(&call->config);
}

static int migrate(struct call *call) {
    return hfd_admin_migrate(call->config.database_owner, stdout);
}

static int seed_demo(struct call *call) {
    return hfd_admin_seed_demo(call->config.database_owner, stdout);
}

static int clinic_create(struct call *call) {
    char id[HFD_UUID_TEXT_SIZE];
    bool demo = call->count == 2;
    if (demo && strcmp(call->arguments[1], "--demo") != 0) {
        fprintf(stderr, "holdfastd: \"%s\" is not --demo; a name of several words needs quotes\n",
            call->arguments[1]);
        return USAGE;
    }
    int code = hfd_admin_clinic_create(call->config.database_owner, call->arguments[0], demo, id);
    if (code == 0) puts(id);
    return code;
}

/* The value behind `--name`, or NULL. */
static const char *option(const struct call *call, const char *name) {
    for (int i = 0; i + 1 < call->count; i += 2) {
        if (strcmp(call->arguments[i], name) == 0) return call->arguments[i + 1];
    }
    return NULL;
}

static int token_create(struct call *call) {
    char *token = NULL;
    const char *clinic = option(call, "--clinic"), *role = option(call, "--role");
    const char *label = option(call, "--label"), *expires = option(call, "--expires");
    int named = (clinic != NULL) + (role != NULL) + (label != NULL) + (expires != NULL);
    if (!clinic || !role || call->count != 2 * named) {
        fputs(
            "usage: holdfastd token create --clinic CLINIC --role ROLE [--label TEXT] [--expires DAY|DAYS]\n",
            stderr);
        return USAGE;
    }
    int code = hfd_admin_token_create(
        call->config.database_owner, clinic, role, label ? label : "", expires, &token);
    if (code == 0) puts(token);
    free(token);
    return code;
}

static int token_list(struct call *call) {
    return hfd_admin_token_list(
        call->config.database_owner, call->count > 0 ? call->arguments[0] : NULL, stdout);
}

static int token_revoke(struct call *call) {
    return hfd_admin_token_revoke(call->config.database_owner, call->arguments[0]);
}

static int verify_audit(struct call *call) {
    if (call->count == 1 || (call->count == 2 && strcmp(call->arguments[0], "--clinic") != 0)) {
        fputs("usage: holdfastd verify-audit [--clinic CLINIC]\n", stderr);
        return USAGE;
    }
    return hfd_admin_verify_audit(call->config.database_owner, option(call, "--clinic"), stdout);
}

/* Of a file or, by "-", of the standard stream; NULL: told. */
static FILE *stream(const char *path, const char *mode, FILE *standard) {
    if (strcmp(path, "-") == 0) return standard;
    FILE *file = fopen(path, mode);
    if (file == NULL) fprintf(stderr, "holdfastd: %s: %s\n", path, strerror(errno));
    return file;
}

/* A file that was begun and is not whole is taken away. */
static int export_clinic(struct call *call) {
    const char *path = call->arguments[1];
    FILE *out = stream(path, "wxe", stdout);
    if (out == NULL) return 1;
    int code = hfd_admin_export(call->config.database_owner, call->arguments[0], out, stderr);
    if (out != stdout && fclose(out) != 0) code = 1;
    if (code != 0 && out != stdout) remove(path);
    return code;
}

static int import_clinic(struct call *call) {
    if (call->count == 2 || (call->count == 3 && strcmp(call->arguments[1], "--name") != 0)) {
        fputs("usage: holdfastd import FILE|- [--name NAME]\n", stderr);
        return USAGE;
    }
    FILE *in = stream(call->arguments[0], "re", stdin);
    if (in == NULL) return 1;
    char id[HFD_UUID_TEXT_SIZE];
    int code = hfd_admin_import(
        call->config.database_owner, call->count == 3 ? call->arguments[2] : NULL, in, stderr, id);
    if (in != stdin) fclose(in);
    if (code == 0) puts(id);
    return code;
}

static const struct command {
    const char *words[2];
    const char *takes;
    int least, most; /* arguments */
    bool configured;
    int (*run)(struct call *call);
    const char *help;
} commands[] = {
    {{"serve"}, "", 0, 0, true, serve, "answer requests until SIGTERM"},
    {{"evaluate"}, "FILE|-", 1, 1, false, evaluate, "answer one mechanics document; no database"},
    {{"openapi"}, "", 0, 0, false, openapi, "print the public description (OpenAPI 3.1); no database"},
    {{"check"}, "", 0, 0, true, check, "could it serve? resources, database, schema, policies and roles"},
    {{"migrate"}, "", 0, 0, true, migrate, "bring the schema to the state of this program"},
    {{"clinic", "create"}, "NAME [--demo]", 1, 2, true, clinic_create, "prints the new clinic's id"},
    {{"export"}, "CLINIC FILE|-", 2, 2, true, export_clinic, "a whole clinic as lines of JSON"},
    {{"import"}, "FILE|- [--name …]", 1, 3, true, import_clinic, "the same into a new clinic; prints its id"},
    {{"token", "create"}, "--clinic … --role …", 4, 8, true, token_create,
        "[--label …] [--expires 2027-01-31|90] prints a token, this once; roles: clinician assistant dashboard integrator auditor admin"},
    {{"token", "list"}, "[CLINIC]", 0, 1, true, token_list, "all tokens of a clinic, without their text"},
    {{"token", "revoke"}, "TOKEN-ID", 1, 1, true, token_revoke, "refused from the next request on"},
    {{"verify-audit"}, "[--clinic CLINIC]", 0, 2, true, verify_audit,
        "is the audit whole? names the first row that is not"},
    {{"seed-demo"}, "", 0, 0, true, seed_demo, "a demo clinic with invented patients"},
};

static const size_t command_count = sizeof commands / sizeof commands[0];

static int help(FILE *out) {
    fputs("usage: holdfastd [--config FILE] COMMAND\n\n", out);
    for (size_t i = 0; i < command_count; i++) {
        const struct command *c = &commands[i];
        char form[64];
        snprintf(form, sizeof form, "%s%s%s %s", c->words[0], c->words[1] ? " " : "",
            c->words[1] ? c->words[1] : "", c->takes);
        fprintf(out, "  %-34s %s\n", form, c->help);
    }
    fputs("  --show-config                      the settings in force, secrets hidden\n"
          "  --version, --help\n\n"
          "Settings, as `key = value` in FILE or as HOLDFAST_KEY in the environment [default]:\n",
        out);
    hfd_config_describe(out);
    return 0;
}

static const struct command *find(int count, char **words) {
    for (size_t i = 0; i < command_count; i++) {
        const struct command *c = &commands[i];
        if (count < 1 || strcmp(words[0], c->words[0]) != 0) continue;
        if (!c->words[1] || (count > 1 && strcmp(words[1], c->words[1]) == 0)) return c;
    }
    return NULL;
}

static int run_command(struct call *call, const char *config_path, hf_arena *arena) {
    const struct command *command = find(call->count, call->arguments);
    if (!command) {
        fprintf(stderr, "holdfastd: %s%s; try holdfastd --help\n",
            call->count > 0 ? "there is no command " : "a command is needed",
            call->count > 0 ? call->arguments[0] : "");
        return USAGE;
    }
    int words = command->words[1] ? 2 : 1;
    call->arguments += words;
    call->count -= words;
    if (call->count < command->least || call->count > command->most) {
        fprintf(stderr, "usage: holdfastd %s%s%s %s\n", command->words[0], words > 1 ? " " : "",
            words > 1 ? command->words[1] : "", command->takes);
        return USAGE;
    }
    if (command->configured && !hfd_config_load(&call->config, config_path, call->environment, arena, stderr))
        return 1;
    return command->run(call);
}

static int show_config(struct call *call, const char *config_path, hf_arena *arena) {
    if (!hfd_config_load(&call->config, config_path, call->environment, arena, stderr)) return 1;
    hfd_config_print(&call->config, stdout);
    return 0;
}

/* Options may stand anywhere; what is left are the command and its arguments. */
static int take_options(struct call *call, hf_arena *arena) {
    const char *config_path = NULL;
    bool show = false;
    int left = 0;
    for (int i = 0; i < call->count; i++) {
        char *argument = call->arguments[i];
        if (strcmp(argument, "--help") == 0) return help(stdout);
        if (strcmp(argument, "--version") == 0) {
            puts("holdfastd " HF_CORE_VERSION ", parameters " HF_PARAMETERS_VERSION);
            return 0;
        }
        if (strcmp(argument, "--show-config") == 0) {
            show = true;
        } else if (strcmp(argument, "--config") == 0) {
            if (++i == call->count) {
                fputs("holdfastd: --config needs a file\n", stderr);
                return USAGE;
            }
            config_path = call->arguments[i];
        } else {
            call->arguments[left++] = argument;
        }
    }
    call->count = left;
    return show ? show_config(call, config_path, arena) : run_command(call, config_path, arena);
}

int hfd_app_run(int count, char **arguments, char *const *environment) {
    if (!hfd_uuid_init()) {
        fputs("holdfastd: the system gives no random numbers\n", stderr);
        return 1;
    }
    struct call call = {.environment = environment, .arguments = arguments + 1, .count = count - 1};
    hf_arena arena;
    hf_arena_init(&arena, 16384, 0);
    int code = take_options(&call, &arena);
    hf_arena_fini(&arena);
    if (fflush(stdout) != 0) code = 1;
    return code;
}
