/* Opens connections with the limits and settings that this program counts on. */
#ifndef HFD_DIAL_H
#define HFD_DIAL_H

#include <libpq-fe.h>

/* Never NULL except without memory; PQstatus() tells. What `conninfo` says itself wins. */
PGconn *hfd_dial(const char *conninfo);

#endif
