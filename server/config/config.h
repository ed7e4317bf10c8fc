/* Settings: one table of keys, read from a file of `key = value` lines and from the environment
 * (HOLDFAST_PORT over `port`). */
#ifndef HFD_CONFIG_H
#define HFD_CONFIG_H

#include <stdbool.h>
#include <stdio.h>

#include "../../core/arena.h"

struct hfd_config {
    bool allow_plain_http_on_public_address;
    const char *cors_origins; /* parted by spaces */
    const char *database, *database_owner;
    long drain_s, event_days, http_threads;
    bool https_in_front;
    long keep_alive_s;
    const char *listen_address;
    long log_level; /* enum hfd_log_level */
    long max_body_bytes, max_connections, max_connections_per_address;
    long port, queue_length;
    long rate_limit_per_minute; /* 0: none */
    long request_deadline_s;
    long sign_in_failures_per_minute;
    const char *tls_certificate, *tls_key; /* files; "": plain HTTP */
    const char *webhook_networks;          /* parted by spaces */
    long workers;
};

/* Everything at its default. */
void hfd_config_default(struct hfd_config *out);
/* Defaults, then the file (`path` NULL: none), then the environment. Texts live in `arena`. False: every
 * fault has been told on `complaints`, one line each. */
bool hfd_config_load(
    struct hfd_config *out, const char *path, char *const *environment, hf_arena *arena, FILE *complaints);
/* The same from text; `name` stands in complaints. */
bool hfd_config_read(struct hfd_config *out, const char *name, const char *text, char *const *environment,
    hf_arena *arena, FILE *complaints);

/* As a file would say it, secrets hidden. */
void hfd_config_print(const struct hfd_config *config, FILE *out);
/* Each key with its default and what it is for. */
void hfd_config_describe(FILE *out);
/* Variables that look like settings and are none, for the log. */
void hfd_config_log_strangers(char *const *environment);

#endif
