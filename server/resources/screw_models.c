/* Screws the clinic uses. A model in use keeps its dimensions; new ones are a new row with its own dates. */
#include <string.h>

#include "../base/gs1.h"
#include "common.h"

static const struct hfd_column columns[] = {
    HFD_COLUMNS_BEFORE,
    {.name = "name",
        .kind = HFD_COLUMN_TEXT,
        .flags = HFD_REQUIRED | HFD_FILTER | HFD_SORT,
        .what = "Name in the clinic's words."},
    {.name = "gtin",
        .kind = HFD_COLUMN_TEXT,
        .flags = HFD_FILTER,
        .max = 14,
        .what = "Global Trade Item Number as a package's scan has it: 14 digits."},
    {.name = "diameter_mm",
        .kind = HFD_COLUMN_REAL,
        .flags = HFD_REQUIRED,
        .limit = HF_LIMIT_SCREW_DIAMETER,
        .what = "Outer diameter of the thread."},
    {.name = "core_mm",
        .kind = HFD_COLUMN_REAL,
        .limit = HF_LIMIT_SCREW_CORE,
        .what = "Diameter of the core."},
    {.name = "length_mm",
        .kind = HFD_COLUMN_REAL,
        .flags = HFD_REQUIRED,
        .limit = HF_LIMIT_SCREW_LENGTH,
        .what = "Length of the part in bone."},
    {.name = "thread_pitch_mm",
        .kind = HFD_COLUMN_REAL,
        .limit = HF_LIMIT_THREAD_PITCH,
        .what = "Pitch of the thread."},
    {.name = "modulus_mpa",
        .kind = HFD_COLUMN_REAL,
        .limit = HF_LIMIT_MODULUS,
        .what = "Modulus of the metal."},
    {.name = "poisson",
        .kind = HFD_COLUMN_REAL,
        .limit = HF_LIMIT_POISSON,
        .what = "Poisson's ratio of the metal."},
    {.name = "tapered", .kind = HFD_COLUMN_BOOL, .what = "Tapered rather than cylindrical."},
    {.name = "effective_from", .kind = HFD_COLUMN_DATE, .what = "First day of use; left out: always."},
    {.name = "effective_to",
        .kind = HFD_COLUMN_DATE,
        .what = "First day it is no longer chosen; left out: open."},
    {.name = "note", .kind = HFD_COLUMN_TEXT, .flags = HFD_ANY_TEXT, .max = 4000, .what = "Free text."},
    HFD_COLUMNS_AFTER,
};

static void check(const struct hfd_row *row, struct hfd_errors *errors) {
    const char *gtin = hfd_row_get(row, "gtin");
    if (gtin != NULL && (strlen(gtin) != 14 || !hfd_gs1_is_gtin(gtin)))
        hfd_errors_add(errors, "/gtin", "Expected 14 digits, the last of which checks the others.");
    hfd_row_ordered(row, "core_mm", "diameter_mm", errors);
    hfd_row_ordered(row, "effective_from", "effective_to", errors);
}

const struct hfd_resource hfd_resource_screw_models = {
    .path = "/v1/screw-models",
    .noun = "screw model",
    .example =
        "{\"name\": \"2.0 x 9 mm\", \"diameter_mm\": 2.0, \"core_mm\": 1.5, \"length_mm\": 9, \"thread_pitch_mm\": 0.8}",
    .change = "{\"note\": \"with a longer neck\"}",
    .table = "screw_models",
    .columns = columns,
    .column_count = HFD_COUNT(columns),
    .verbs = HFD_LIST | HFD_READ | HFD_CREATE | HFD_CHANGE,
    .read_roles = HFD_CATALOGUE_READERS,
    .write_roles = HFD_CATALOGUE_WRITERS,
    .sort = "name",
    .check = check,
    .untraced = true,
};
