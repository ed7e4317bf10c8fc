/* Where everything meets: the command line and the running daemon. */
#ifndef HFD_APP_H
#define HFD_APP_H

#include "../config/config.h"
#include "../store/store.h"

/* The whole program; returns its exit code. */
int hfd_app_run(int count, char **arguments, char *const *environment);

/* Serves until told to stop: 0 when every accepted request was answered. */
int hfd_app_serve(const struct hfd_config *config);
/* The answer to the document in `path` ("-": standard input) on standard output, byte for byte what HTTP
 * gives; 2 with the problem on standard error. No database, no network. */
int hfd_app_evaluate(const char *path);
/* The public description of all that is served, on standard output. No database, no network. */
int hfd_app_openapi(void);
/* Could it serve? 0, or 1 with what is missing on standard error. */
int hfd_app_check(const struct hfd_config *config);

/* Seals the audit until the end; NULL without memory or thread. `database` is borrowed. */
struct hfd_sealer;
struct hfd_sealer *hfd_app_seal(const char *database);
void hfd_app_seal_end(struct hfd_sealer *sealer);

/* Puts on record what replies tell, and lets them go then; at most `most` wait at a time. NULL without memory
 * or thread. `database` and `counters` are borrowed. */
struct hfd_auditor;
struct hfd_auditor *hfd_app_audit(const char *database, size_t most, struct hfd_store_counters *counters);
void hfd_app_audit_reply(struct hfd_auditor *auditor, void *job);
size_t hfd_app_audit_waiting(struct hfd_auditor *auditor);
void hfd_app_audit_end(struct hfd_auditor *auditor);

/* Judges the last visits of open cases, for the worklist, until the end; NULL without memory or thread. */
struct hfd_judge;
struct hfd_judge *hfd_app_judge(const char *database);
void hfd_app_judge_end(struct hfd_judge *judge);

/* Tells a service manager that asked for it (NOTIFY_SOCKET): "READY=1", "STOPPING=1". */
void hfd_app_notify(const char *state);

#endif
