#include "failure.h"

#include <string.h>

/* The first row whose code the SQLSTATE begins with. HF… are raised by authenticate(). */
static const struct {
    const char *code;
    struct hfd_failure failure;
} rows[] = {
    {"HF401", {HFD_STORE_UNAUTHENTICATED, false, false}}, {"HF403", {HFD_STORE_FORBIDDEN, false, false}},
    {"08", {HFD_STORE_DOWN, false, true}},     /* connection */
    {"0A000", {HFD_STORE_ERROR, false, true}}, /* a prepared statement outlived a change of its columns */
    {"22", {HFD_STORE_CHECK, false, false}}, {"23503", {HFD_STORE_REFERENCE, false, false}},
    {"23505", {HFD_STORE_UNIQUE, false, false}}, {"23", {HFD_STORE_CHECK, false, false}},
    {"25006", {HFD_STORE_DOWN, false, true}},  /* read only: this server is no longer the primary */
    {"25P03", {HFD_STORE_DOWN, false, true}},  /* idle in transaction too long */
    {"26000", {HFD_STORE_DOWN, false, true}},  /* prepared statement gone: a pooler changed servers */
    {"40", {HFD_STORE_DOWN, true, false}},     /* serialisation failure, deadlock */
    {"53", {HFD_STORE_DOWN, false, false}},    /* out of memory, disk, connections */
    {"54", {HFD_STORE_CHECK, false, false}},   /* larger than an index or a row can be */
    {"55P03", {HFD_STORE_DOWN, false, false}}, /* lock_timeout */
    {"57014", {HFD_STORE_DOWN, false, false}}, /* statement_timeout */
    {"57P", {HFD_STORE_DOWN, false, true}},    /* shutting down, starting up */
};

struct hfd_failure hfd_failure_of(const char *sqlstate) {
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        if (strncmp(sqlstate, rows[i].code, strlen(rows[i].code)) == 0) return rows[i].failure;
    }
    return (struct hfd_failure){.status = HFD_STORE_ERROR};
}
