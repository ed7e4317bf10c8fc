/* Anatomical sites. Published figures come with the clinic; a change of a figure makes the row the clinic's
 * own. */
#include "common.h"

static const char *const jaws[] = {"maxilla", "mandible", NULL};
static const char *const mucosae[] = {"attached", "movable", NULL};

static const struct hfd_column columns[] = {
    HFD_COLUMNS_BEFORE,
    {.name = "key",
        .kind = HFD_COLUMN_TEXT,
        .flags = HFD_REQUIRED | HFD_FIXED | HFD_FILTER | HFD_SORT,
        .max = 60,
        .what = "Word by which screws and documents name the site."},
    {.name = "name", .kind = HFD_COLUMN_TEXT, .flags = HFD_REQUIRED, .what = "The site in plain words."},
    {.name = "jaw",
        .kind = HFD_COLUMN_ENUM,
        .flags = HFD_REQUIRED | HFD_FILTER,
        .names = jaws,
        .what = "Jaw."},
    {.name = "published",
        .kind = HFD_COLUMN_BOOL,
        .flags = HFD_READ_ONLY | HFD_FILTER,
        .what = "True: published figures. False: the clinic's own."},
    {.name = "loss_low",
        .kind = HFD_COLUMN_REAL,
        .limit = HF_LIMIT_LOSS,
        .what = "Share of screws lost, lower end of the 95 % interval."},
    {.name = "loss_mid", .kind = HFD_COLUMN_REAL, .limit = HF_LIMIT_LOSS, .what = "Share of screws lost."},
    {.name = "loss_high",
        .kind = HFD_COLUMN_REAL,
        .limit = HF_LIMIT_LOSS,
        .what = "Share of screws lost, upper end of the 95 % interval."},
    {.name = "cortex_mm",
        .kind = HFD_COLUMN_REAL,
        .limit = HF_LIMIT_CORTEX,
        .what = "Thickness of cortical bone."},
    {.name = "cancellous_modulus_mpa",
        .kind = HFD_COLUMN_REAL,
        .limit = HF_LIMIT_CANCELLOUS_MODULUS,
        .what = "Modulus of the bone under the cortex."},
    {.name = "density_class", .kind = HFD_COLUMN_TEXT, .max = 20, .what = "Bone density class, D1 to D5."},
    {.name = "mucosa", .kind = HFD_COLUMN_ENUM, .names = mucosae, .what = "Usual mucosa."},
    {.name = "torque_low_ncm",
        .kind = HFD_COLUMN_REAL,
        .limit = HF_LIMIT_INSERTION_TORQUE,
        .what = "Wished insertion torque, lower end."},
    {.name = "torque_high_ncm",
        .kind = HFD_COLUMN_REAL,
        .limit = HF_LIMIT_INSERTION_TORQUE,
        .what = "Wished insertion torque, upper end."},
    {.name = "source", .kind = HFD_COLUMN_TEXT, .max = 1000, .what = "Where the figures come from."},
    HFD_COLUMNS_AFTER,
};

static void need_together(const struct hfd_row *row, const char *const *names, struct hfd_errors *errors) {
    bool some = false;
    for (size_t i = 0; names[i] != NULL; i++)
        some = some || hfd_row_get(row, names[i]) != NULL;
    for (size_t i = 0; some && names[i] != NULL; i++)
        if (hfd_row_get(row, names[i]) == NULL)
            hfd_errors_add(errors, hf_arena_printf(errors->arena, "/%s", names[i]),
                "Required beside the other ends of this interval.");
}

static void check(const struct hfd_row *row, struct hfd_errors *errors) {
    need_together(row, (const char *const[]){"loss_low", "loss_mid", "loss_high", NULL}, errors);
    need_together(row, (const char *const[]){"torque_low_ncm", "torque_high_ncm", NULL}, errors);
    hfd_row_ordered(row, "loss_low", "loss_mid", errors);
    hfd_row_ordered(row, "loss_mid", "loss_high", errors);
    hfd_row_ordered(row, "torque_low_ncm", "torque_high_ncm", errors);
}

const struct hfd_resource hfd_resource_sites = {
    .path = "/v1/sites",
    .noun = "site",
    .example =
        "{\"key\": \"behind-the-third-ruga\", \"name\": \"behind the third ruga\", \"jaw\": \"maxilla\", "
        "\"loss_low\": 0.02, \"loss_mid\": 0.05, \"loss_high\": 0.11, \"source\": \"own measurement\"}",
    .change = "{\"cortex_mm\": 1.6}",
    .table = "sites",
    .columns = columns,
    .column_count = HFD_COUNT(columns),
    .verbs = HFD_LIST | HFD_READ | HFD_CREATE | HFD_CHANGE,
    .read_roles = HFD_CATALOGUE_READERS,
    .write_roles = HFD_CATALOGUE_WRITERS,
    .sort = "key",
    .check = check,
    .untraced = true,
};
