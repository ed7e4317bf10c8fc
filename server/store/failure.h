/* What PostgreSQL's five-letter codes mean to us. */
#ifndef HFD_FAILURE_H
#define HFD_FAILURE_H

#include "store.h"

struct hfd_failure {
    enum hfd_store_status status;
    bool again; /* the transaction may be run again as it is */
    bool drop;  /* the connection is of no more use */
};

struct hfd_failure hfd_failure_of(const char *sqlstate);

#endif
