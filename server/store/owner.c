#include "owner.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "../../core/evidence.h"
#include "../../core/site.h"
#include "../base/num.h"
#include "../base/uuid.h"
#include "dial.h"

static void on_notice(void *context, const char *message) {
    (void)context, (void)message;
}

static void tell(const char *message) {
    fprintf(stderr, "database: %s%s", message,
        message[0] != '\0' && message[strlen(message) - 1] == '\n' ? "" : "\n");
}

PGconn *hfd_owner_open(const char *conninfo) {
    PGconn *owner = hfd_dial(conninfo);
    if (PQstatus(owner) != CONNECTION_OK) {
        tell(PQerrorMessage(owner));
        PQfinish(owner);
        return NULL;
    }
    PQsetNoticeProcessor(owner, on_notice, NULL);
    /* A migration may take its time. */
    if (!hfd_owner_do(owner, "set statement_timeout = 0; set lock_timeout = 0")) {
        PQfinish(owner);
        return NULL;
    }
    return owner;
}

bool hfd_owner_do(PGconn *owner, const char *sql) {
    PGresult *result = PQexec(owner, sql);
    const bool done = PQresultStatus(result) == PGRES_COMMAND_OK || PQresultStatus(result) == PGRES_TUPLES_OK;
    if (!done) tell(PQerrorMessage(owner));
    PQclear(result);
    return done;
}

PGresult *hfd_owner_query(PGconn *owner, const char *sql, int param_count, const char *const *params) {
    PGresult *result = PQexecParams(owner, sql, param_count, NULL, params, NULL, NULL, 0);
    if (PQresultStatus(result) == PGRES_COMMAND_OK || PQresultStatus(result) == PGRES_TUPLES_OK)
        return result;
    tell(PQerrorMessage(owner));
    PQclear(result);
    return NULL;
}

bool hfd_owner_find_clinic(PGconn *owner, const char *clinic, char id[HFD_UUID_TEXT_SIZE]) {
    PGresult *found = hfd_owner_query(
        owner, "select id from holdfast.clinics where id::text = lower($1) or name = $1", 1, &clinic);
    if (found == NULL) return false;
    const int rows = PQntuples(found);
    if (rows == 1) memccpy(id, PQgetvalue(found, 0, 0), '\0', HFD_UUID_TEXT_SIZE);
    if (rows != 1) fprintf(stderr, "%s clinic \"%s\"\n", rows == 0 ? "no" : "more than one", clinic);
    PQclear(found);
    return rows == 1;
}

static const char *number(char text[HFD_NUM_MAX], double value) {
    if (isnan(value)) return NULL;
    hfd_num_print(text, value);
    return text;
}

/* Readers want to know who published it: a site's source is the key of a row of evidence, which has a
 * citation. */
static const char *citation(const char *source) {
    const hf_evidence *evidence = hf_evidence_find(source);
    const char *text = hf_citation_find(evidence != NULL ? evidence->source : source);
    return text != NULL ? text : source;
}

static bool publish_site(PGconn *owner, const char *clinic_id, const hf_site *site) {
    static const char *const jaws[HF_JAW_COUNT] = {[HF_MAXILLA] = "maxilla", [HF_MANDIBLE] = "mandible"};
    static const char *const mucosas[HF_MUCOSA_COUNT] = {
        [HF_MUCOSA_ATTACHED] = "attached", [HF_MUCOSA_MOVABLE] = "movable"};
    /* The torque window depends on the screw's diameter too, so it stays with the core. */
    static const char sql[] =
        "insert into holdfast.sites as s (clinic_id, id, key, name, jaw, published, loss_low, loss_mid, loss_high,"
        " cortex_mm, cancellous_modulus_mpa, density_class, mucosa, source)"
        " values ($1, $2, $3, $4, $5, true, $6, $7, $8, $9, $10, $11, $12, $13)"
        " on conflict on constraint sites_key_key do update set name = excluded.name, jaw = excluded.jaw,"
        " loss_low = excluded.loss_low, loss_mid = excluded.loss_mid, loss_high = excluded.loss_high,"
        " cortex_mm = excluded.cortex_mm, cancellous_modulus_mpa = excluded.cancellous_modulus_mpa,"
        " density_class = excluded.density_class, mucosa = excluded.mucosa, source = excluded.source"
        " where s.published and (s.name, s.jaw, s.loss_low, s.loss_mid, s.loss_high, s.cortex_mm,"
        " s.cancellous_modulus_mpa, s.density_class, s.mucosa, s.source) is distinct from (excluded.name, excluded.jaw,"
        " excluded.loss_low, excluded.loss_mid, excluded.loss_high, excluded.cortex_mm,"
        " excluded.cancellous_modulus_mpa, excluded.density_class, excluded.mucosa, excluded.source)";
    char id[HFD_UUID_TEXT_SIZE], text[5][HFD_NUM_MAX];
    hfd_uuid_new(id);
    const char *const params[] = {clinic_id, id, site->key, site->name, jaws[site->jaw],
        number(text[0], site->loss.low), number(text[1], site->loss.mid), number(text[2], site->loss.high),
        number(text[3], site->cortex_mm), number(text[4], site->cancellous_modulus_mpa), site->density_class,
        mucosas[site->mucosa], citation(site->source)};
    PGresult *result = hfd_owner_query(owner, sql, sizeof params / sizeof *params, params);
    PQclear(result);
    return result != NULL;
}

bool hfd_owner_publish_sites(PGconn *owner, const char *clinic_id) {
    PGresult *tenant = hfd_owner_query(owner, "select set_config('app.clinic', $1, true)", 1, &clinic_id);
    PQclear(tenant);
    if (tenant == NULL) return false;
    for (size_t i = 0; i < hf_site_count; i++) {
        if (!publish_site(owner, clinic_id, &hf_sites[i])) return false;
    }
    return true;
}
