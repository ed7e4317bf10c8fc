#include "../../../server/store/admin.h"

#include <criterion/criterion.h>
#include <criterion/redirect.h>

#include "../../../core/site.h"
#include "database.h"

TestSuite(admin, .init = migrate);

static char *list(const char *clinic) {
    char *text = NULL;
    size_t size;
    FILE *out = open_memstream(&text, &size);
    cr_assert_eq(hfd_admin_token_list(owner_conninfo(), clinic, out), 0);
    fclose(out);
    return text;
}

Test(admin, a_name_is_given_once, .init = cr_redirect_stderr) {
    char name[HFD_UUID_TEXT_SIZE], id[37];
    hfd_uuid_new(name);
    cr_assert_eq(hfd_admin_clinic_create(owner_conninfo(), name, false, id), 0);
    cr_assert(hfd_uuid_valid(id));
    cr_assert_eq(hfd_admin_clinic_create(owner_conninfo(), name, false, id), 1);
    cr_assert_eq(hfd_admin_clinic_create(owner_conninfo(), "", false, id), 1);
    PGconn *owner = connect_to(owner_conninfo());
    char sql[128];
    snprintf(sql, sizeof sql, "select count(*) from holdfast.clinics where name = '%s'", name);
    cr_assert_str_eq(value_of(owner, sql), "1");
    PQfinish(owner);
}

Test(admin, a_clinic_starts_with_the_published_sites) {
    const struct clinic clinic = new_clinic();
    PGconn *owner = connect_to(owner_conninfo());
    char sql[256];
    snprintf(sql, sizeof sql, "set app.clinic = '%s'", clinic.id);
    run_sql(owner, sql);
    cr_assert_gt(hf_site_count, 0);
    snprintf(
        sql, sizeof sql, "select count(*) = %zu and bool_and(published) from holdfast.sites", hf_site_count);
    cr_assert_str_eq(value_of(owner, sql), "t");
    /* Mohammed et al. 2018: midpalatal 1.3 %, paramedian 4.8 (1.6 to 13.4) % lost. */
    cr_assert_str_eq(
        value_of(owner, "select loss_mid from holdfast.sites where key = 'palate-median'"), "0.013");
    cr_assert_str_eq(
        value_of(owner, "select format('%s %s %s', loss_low, loss_mid, loss_high) from holdfast.sites"
                        " where key = 'palate-paramedian'"),
        "0.016 0.048 0.134");
    cr_assert_not_null(
        strstr(value_of(owner, "select source from holdfast.sites where key = 'palate-median'"), "2018"),
        "the citation, not a key");
    PQfinish(owner);
}

Test(admin, a_token_is_told_once_and_kept_as_a_digest) {
    char name[HFD_UUID_TEXT_SIZE], id[37], digest[HFD_DIGEST_HEX], sql[256], *token;
    hfd_uuid_new(name);
    cr_assert_eq(hfd_admin_clinic_create(owner_conninfo(), name, false, id), 0);
    cr_assert_eq(hfd_admin_token_create(owner_conninfo(), name, "dashboard", "wall screen", NULL, &token), 0);
    hfd_digest_hex(token, strlen(token), digest);
    PGconn *owner = connect_to(owner_conninfo());
    snprintf(sql, sizeof sql,
        "select clinic_id || role || label from holdfast.tokens where digest = decode('%s', 'hex')", digest);
    char expected[128];
    snprintf(expected, sizeof expected, "%sdashboardwall screen", id);
    cr_assert_str_eq(value_of(owner, sql), expected);
    snprintf(
        sql, sizeof sql, "select count(*) from holdfast.tokens t where t::text like '%%%s%%'", token + 3);
    cr_assert_str_eq(value_of(owner, sql), "0", "the text itself is nowhere");
    PQfinish(owner);
    free(token);
}

Test(admin, tokens_are_listed_and_revoked, .init = cr_redirect_stderr) {
    char name[HFD_UUID_TEXT_SIZE], id[37], token_id[37], *token;
    hfd_uuid_new(name);
    cr_assert_eq(hfd_admin_clinic_create(owner_conninfo(), name, false, id), 0);
    cr_assert_eq(hfd_admin_token_create(owner_conninfo(), id, "admin", "first", NULL, &token), 0);
    char *before = list(name);
    const char *row = strchr(before, '\n') + 1;
    cr_assert_eq(sscanf(row, "%36s", token_id), 1);
    cr_assert(hfd_uuid_valid(token_id), "%s", before);
    cr_assert_not_null(strstr(row, "\tadmin\tfirst\t"), "%s", before);
    cr_assert_not_null(strstr(row, "\tnever\tin force\n"), "%s", before);
    cr_assert_null(strstr(before, token), "the list tells no token");
    cr_assert_eq(hfd_admin_token_revoke(owner_conninfo(), token_id), 0);
    cr_assert_eq(hfd_admin_token_revoke(owner_conninfo(), token_id), 0, "again is no harm");
    char *after = list(id), *all = list(NULL);
    cr_assert_not_null(strstr(after, "\tnever\trevoked\n"), "%s", after);
    cr_assert_not_null(strstr(all, token_id));
    free(before), free(after), free(all), free(token);
}

Test(admin, refusals_make_nothing, .init = cr_redirect_stderr) {
    const struct clinic clinic = new_clinic();
    char unknown[HFD_UUID_TEXT_SIZE], *token;
    hfd_uuid_new(unknown);
    cr_assert_eq(hfd_admin_token_create(owner_conninfo(), clinic.id, "chief", "x", NULL, &token), 1);
    cr_assert_null(token);
    cr_assert_eq(hfd_admin_token_create(owner_conninfo(), unknown, "admin", "x", NULL, &token), 1);
    cr_assert_null(token);
    cr_assert_eq(hfd_admin_token_revoke(owner_conninfo(), unknown), 1);
    cr_assert_eq(hfd_admin_token_revoke(owner_conninfo(), "x' or true --"), 1);
    cr_assert_eq(hfd_admin_token_list(owner_conninfo(), unknown, stdout), 1);
}
