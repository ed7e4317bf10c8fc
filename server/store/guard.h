/* What keeps clinics apart stands in the database, where an administrator may change it by hand: looked at
 * before serving. */
#ifndef HFD_GUARD_H
#define HFD_GUARD_H

#include "../../core/arena.h"

/* NULL: every table and the role behind `conninfo` are as the migrations made them; else the faults, one a
 * line. */
const char *hfd_store_guard(const char *conninfo, hf_arena *arena);

#endif
