/* What an administrator does from the command line, as the owner of the schema. Each returns 0, or an exit
 * code after telling the reason on standard error. */
#ifndef HFD_ADMIN_H
#define HFD_ADMIN_H

#include <stdbool.h>
#include <stdio.h>

/* Brings the schema to the state of this program. Two at a time are no harm: one waits for the other. */
int hfd_admin_migrate(const char *owner_conninfo, FILE *log);

/* A clinic of invented patients, all of it or nothing. What is there already stays as it is. */
int hfd_admin_seed_demo(const char *owner_conninfo, FILE *log);

/* The name must be new. The clinic starts with the published sites. */
int hfd_admin_clinic_create(const char *owner_conninfo, const char *name, bool demo, char id_out[37]);

/* `clinic`: id or exact name. `expires`: the day (YYYY-MM-DD, from its beginning in UTC) or the number of
 * days from now after which it is refused; NULL: no end. The token's text is told here and kept nowhere;
 * free() it. */
int hfd_admin_token_create(const char *owner_conninfo, const char *clinic, const char *role,
    const char *label, const char *expires, char **token_out);
/* One line each, columns separated by tabs, a heading first. `clinic` NULL: of all clinics. */
int hfd_admin_token_list(const char *owner_conninfo, const char *clinic, FILE *out);
/* Are the audit's chains whole, of one clinic (id or exact name) or of all (NULL)? One line a clinic: how far
 * it is sealed, or the first row that is not as it was. 0 when all are whole. */
int hfd_admin_verify_audit(const char *owner_conninfo, const char *clinic, FILE *out);

/* A whole clinic (id or exact name) as lines of JSON, as it is at one moment; `log` is told how far it is.
 * Tokens, the audit, erasures and kept replies are not part of it. */
int hfd_admin_export(const char *owner_conninfo, const char *clinic, FILE *out, FILE *log);
/* The same into a clinic made for it, all or nothing. `name` NULL: the name it had. Its id is kept where it
 * is free. */
int hfd_admin_import(const char *owner_conninfo, const char *name, FILE *in, FILE *log, char id_out[37]);

/* Refused from the next request on. */
int hfd_admin_token_revoke(const char *owner_conninfo, const char *token_id);

#endif
