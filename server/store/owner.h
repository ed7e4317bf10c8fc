/* A connection of the schema's owner, for the administrator's commands: one statement after the other,
 * blocking, every failure told on standard error. */
#ifndef HFD_OWNER_H
#define HFD_OWNER_H

#include <libpq-fe.h>
#include <stdbool.h>

#include "../base/uuid.h"

/* NULL when it failed. Close with PQfinish(). */
PGconn *hfd_owner_open(const char *conninfo);
/* Any number of statements without parameters. */
bool hfd_owner_do(PGconn *owner, const char *sql);
/* One statement; NULL when it failed, otherwise the caller's to PQclear(). */
PGresult *hfd_owner_query(PGconn *owner, const char *sql, int param_count, const char *const *params);

/* `clinic`: id or exact name. False: none, or more than one, which was told. */
bool hfd_owner_find_clinic(PGconn *owner, const char *clinic, char id[HFD_UUID_TEXT_SIZE]);

/* Brings the published sites of one clinic to what core/site.h says; the clinic's own rows stay. Inside a
 * transaction. */
bool hfd_owner_publish_sites(PGconn *owner, const char *clinic_id);

#endif
