#include "common.h"
#include "parts.h"
#include "sheets.h"

static const char *const sexes[] = {"female", "male", "other", "unknown", NULL};

static const struct hfd_field identifier_fields[] = {
    TEXT_FIELD("system", HFD_FIELD_REQUIRED, "Whose numbers these are, best as a URI."),
    TEXT_FIELD("value", HFD_FIELD_REQUIRED, "The number."),
};
static const struct hfd_table identifier = {.what = "identifier", HFD_FIELDS(identifier_fields)};
static const struct hfd_field identifiers_field[] = {
    LIST_FIELD("identifiers", &identifier, HF_LIMIT_IDENTIFIERS, "Numbers in other systems."),
};
static const struct hfd_table identifiers = {.what = "identifiers", HFD_FIELDS(identifiers_field)};
static const struct hfd_shape identifiers_shape = {&identifiers, "identifiers"};

static const struct hfd_column columns[] = {
    HFD_COLUMNS_BEFORE,
    {.name = "chart_number",
        .kind = HFD_COLUMN_TEXT,
        .flags = HFD_REQUIRED | HFD_FILTER | HFD_SORT,
        .max = 60,
        .what = "The clinic's own number, once in a clinic."},
    {.name = "given_name", .kind = HFD_COLUMN_TEXT, .what = "Given name."},
    {.name = "family_name", .kind = HFD_COLUMN_TEXT, .flags = HFD_FILTER, .what = "Family name."},
    {.name = "birth_date", .kind = HFD_COLUMN_DATE, .flags = HFD_FILTER, .what = "Date of birth."},
    {.name = "sex", .kind = HFD_COLUMN_ENUM, .names = sexes, .what = "As recorded."},
    {.name = "identifiers",
        .kind = HFD_COLUMN_PART,
        .shape = &identifiers_shape,
        .what = "Numbers in other systems."},
    {.name = "cigarettes_per_day",
        .kind = HFD_COLUMN_REAL,
        .limit = HF_LIMIT_CIGARETTES,
        .what = "Left out: not asked."},
    {.name = "note", .kind = HFD_COLUMN_TEXT, .flags = HFD_ANY_TEXT, .max = 4000, .what = "Free text."},
    HFD_COLUMNS_AFTER,
};

static const struct hfd_route routes[] = {
    HFD_IMPORT_ROUTE("/v1/patients/import", "\"chart_number,birth_date,sex\\nT-1042,1991-02-28,female\\n\"")};
static const struct hfd_import import = {.key = {"chart_number"}};

const struct hfd_resource hfd_resource_patients = {
    .path = "/v1/patients",
    .noun = "patient",
    .example = "{\"chart_number\": \"A-1042\", \"birth_date\": \"1991-02-28\", \"cigarettes_per_day\": 0}",
    .change = "{\"cigarettes_per_day\": 5}",
    .table = "patients",
    .columns = columns,
    .column_count = HFD_COUNT(columns),
    .verbs = HFD_LIST | HFD_READ | HFD_CREATE | HFD_CHANGE,
    .read_roles = HFD_CHART_READERS,
    .write_roles = HFD_CHART_WRITERS,
    .read_page = hfd_patient_sheet,
    .list_page = hfd_patients_list,
    .sort = "chart_number",
    .routes = routes,
    .route_count = HFD_COUNT(routes),
    .import = &import,
};
