/* The demo clinic: every file of migrations/demo, in one transaction. A row that is there stays as it is. */
#include "admin.h"
#include "migrations.h"
#include "owner.h"

/* All ids of the demo are fixed, and begin alike. */
static const char clinic_id[] = "019c0000-0000-7000-8000-000000000001";
static const char clinic_name[] = "Invented Demo Practice";

/* The files say what belongs to the clinic without naming it: publishing the sites made it the one of this
 * transaction. */
static bool plant(PGconn *owner) {
    const char *const params[] = {clinic_id, clinic_name};
    PGresult *clinic = hfd_owner_query(owner,
        "insert into holdfast.clinics (id, name, demo) values ($1, $2, true) on conflict (id) do nothing", 2,
        params);
    PQclear(clinic);
    if (clinic == NULL || !hfd_owner_publish_sites(owner, clinic_id)) return false;
    for (const struct hfd_migration *file = hfd_demo; file->name != NULL; file++) {
        if (hfd_owner_do(owner, file->sql)) continue;
        fprintf(stderr, "seed-demo: %s failed, nothing of it was kept\n", file->name);
        return false;
    }
    return true;
}

int hfd_admin_seed_demo(const char *owner_conninfo, FILE *log) {
    PGconn *owner = hfd_owner_open(owner_conninfo);
    if (owner == NULL) return 1;
    /* One planter at a time: two at once would meet at the clinic's name, which no conflict clause covers. */
    const bool done =
        hfd_owner_do(owner, "begin; select pg_advisory_xact_lock(hashtext('holdfast.seed-demo'))") &&
        plant(owner) && hfd_owner_do(owner, "commit");
    PQfinish(owner);
    if (done) fprintf(log, "\"%s\" is there, clinic %s\n", clinic_name, clinic_id);
    return done ? 0 : 1;
}
