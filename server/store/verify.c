/* Looks whether the audit's chains are whole. The text of a row and its digest are made here, not by the
 * database: whoever changed rows may have changed functions too. */
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "../../core/arena.h"
#include "../base/buf.h"
#include "../base/digest.h"
#include "admin.h"
#include "owner.h"

enum { digest_size = 32, rows_at_once = 2000 };

/* The columns in the order of the text, then the digest. */
static const char rows_sql[] =
    "select clinic_id, seq, id, to_char(at at time zone 'utc', 'YYYY-MM-DD\"T\"HH24:MI:SS.US\"Z\"'), token, role, action,"
    " resource, array_to_string(records, ','), array_to_string(patients, ','), request, outcome, encode(digest, 'hex')"
    " from holdfast.audit where clinic_id = $1 and seq > $2 order by seq limit 2000";
enum { col_seq = 1, col_at = 3, col_digest = 12 };

struct chain {
    PGconn *owner;
    const char *clinic_id, *name;
    FILE *out;
    int64_t last;                /* row that is still good; 0: none */
    char at[32];                 /* its time */
    char digest[HFD_DIGEST_HEX]; /* and its digest */
};

static void bytes_of(const char *hex, char bytes[digest_size]) {
    static const char digits[] = "0123456789abcdef";
    for (size_t i = 0; i < digest_size; i++)
        bytes[i] =
            (char)((strchr(digits, hex[2 * i]) - digits) << 4 | (strchr(digits, hex[2 * i + 1]) - digits));
}

static bool broken(const struct chain *chain, int64_t row, const char *how) {
    fprintf(chain->out, "%s: row %" PRId64 " %s; sealed up to row %" PRId64 "\n", chain->name, row, how,
        chain->last);
    return false;
}

/* The digest that row `row` must have. */
static void digest_of(const struct chain *chain, const PGresult *rows, int row, char out[HFD_DIGEST_HEX]) {
    hf_arena arena;
    hf_arena_init(&arena, 16384, 0);
    struct hfd_buf text;
    hfd_buf_init(&text, &arena, 8192);
    char before[digest_size];
    bytes_of(chain->digest, before);
    hfd_buf_bytes(&text, before, digest_size);
    for (int column = 0; column < col_digest; column++) {
        if (column > 0) hfd_buf_char(&text, '\n');
        hfd_buf_text(&text, PQgetvalue(rows, row, column));
    }
    hfd_digest_hex(text.text, text.length, out);
    hf_arena_fini(&arena);
}

static bool follow(struct chain *chain, const PGresult *rows) {
    for (int row = 0; row < PQntuples(rows); row++) {
        int64_t seq = strtoll(PQgetvalue(rows, row, col_seq), NULL, 10);
        if (seq != chain->last + 1) return broken(chain, chain->last + 1, "is missing");
        char digest[HFD_DIGEST_HEX];
        digest_of(chain, rows, row, digest);
        if (strcmp(digest, PQgetvalue(rows, row, col_digest)) != 0)
            return broken(chain, seq, "is not what was sealed");
        chain->last = seq;
        memcpy(chain->digest, digest, sizeof digest);
        snprintf(chain->at, sizeof chain->at, "%s", PQgetvalue(rows, row, col_at));
    }
    return true;
}

static bool follow_all(struct chain *chain) {
    for (;;) {
        char last[24];
        snprintf(last, sizeof last, "%" PRId64, chain->last);
        PGresult *rows =
            hfd_owner_query(chain->owner, rows_sql, 2, (const char *const[]){chain->clinic_id, last});
        if (rows == NULL) return false;
        int count = PQntuples(rows);
        bool good = follow(chain, rows);
        PQclear(rows);
        if (!good || count < rows_at_once) return good;
    }
}

/* The chain itself cannot tell whether its end was cut off or something was hung on. */
static bool ends_at_head(struct chain *chain) {
    PGresult *head = hfd_owner_query(chain->owner,
        "select seq, encode(digest, 'hex') from holdfast.audit_heads where clinic_id = $1", 1,
        &chain->clinic_id);
    if (head == NULL) return false;
    bool there = PQntuples(head) == 1;
    int64_t seq = there ? strtoll(PQgetvalue(head, 0, 0), NULL, 10) : 0;
    bool same = !there || strcmp(PQgetvalue(head, 0, 1), chain->digest) == 0;
    PQclear(head);
    if (seq > chain->last) return broken(chain, chain->last + 1, "is missing");
    if (seq < chain->last) {
        chain->last = seq;
        return broken(chain, seq + 1, "stands behind the end");
    }
    return same || broken(chain, seq, "is not what was sealed");
}

static bool verify(struct chain *chain) {
    memset(chain->digest, '0', HFD_DIGEST_HEX - 1);
    chain->digest[HFD_DIGEST_HEX - 1] = '\0';
    if (!follow_all(chain) || !ends_at_head(chain)) return false;
    PGresult *waiting = hfd_owner_query(chain->owner,
        "select count(*) from holdfast.audit_unsealed where clinic_id = $1", 1, &chain->clinic_id);
    if (waiting == NULL) return false;
    fprintf(chain->out, "%s: whole; sealed up to row %" PRId64, chain->name, chain->last);
    if (chain->last > 0) fprintf(chain->out, " of %s, digest %s", chain->at, chain->digest);
    fprintf(chain->out, "; %s waiting\n", PQgetvalue(waiting, 0, 0));
    PQclear(waiting);
    return true;
}

static int verify_clinics(PGconn *owner, const char *clinic, FILE *out) {
    PGresult *clinics = hfd_owner_query(owner,
        "select id, name from holdfast.clinics where $1::text is null or id::text = lower($1) or name = $1 order by name",
        1, &clinic);
    if (clinics == NULL) return 1;
    int broken_chains = 0, count = PQntuples(clinics);
    for (int row = 0; row < count; row++) {
        struct chain chain = {.owner = owner,
            .clinic_id = PQgetvalue(clinics, row, 0),
            .name = PQgetvalue(clinics, row, 1),
            .out = out};
        broken_chains += !verify(&chain);
    }
    PQclear(clinics);
    if (clinic != NULL && count == 0) fprintf(stderr, "no clinic \"%s\"\n", clinic);
    return broken_chains > 0 || (clinic != NULL && count == 0);
}

int hfd_admin_verify_audit(const char *owner_conninfo, const char *clinic, FILE *out) {
    PGconn *owner = hfd_owner_open(owner_conninfo);
    if (owner == NULL) return 1;
    /* One picture of it all, while sealing goes on. */
    int code = hfd_owner_do(owner, "begin isolation level repeatable read read only")
                   ? verify_clinics(owner, clinic, out)
                   : 1;
    PQfinish(owner);
    return code;
}
