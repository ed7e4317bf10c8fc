/* Screws in bone. They stay when plates change. */
#include <string.h>

#include "common.h"

static const char *const mucosae[] = {"attached", "movable", NULL};
static const char *const states[] = {"in-place", "loose", "lost", "removed", NULL};

static const struct hfd_column columns[] = {
    HFD_COLUMNS_BEFORE,
    {.name = "patient_id",
        .kind = HFD_COLUMN_UUID,
        .flags = HFD_FIXED | HFD_FILTER,
        .table = "patients",
        .what = "Whose bone; left out at creation: the case's patient."},
    {.name = "case_id",
        .kind = HFD_COLUMN_UUID,
        .flags = HFD_REQUIRED | HFD_FIXED | HFD_FILTER,
        .table = "cases",
        .what = "Course of treatment."},
    {.name = "name",
        .kind = HFD_COLUMN_TEXT,
        .flags = HFD_REQUIRED | HFD_SORT,
        .max = 60,
        .what = "Name within the case, as the seats of plates say it."},
    {.name = "site",
        .kind = HFD_COLUMN_TEXT,
        .flags = HFD_REQUIRED | HFD_FILTER,
        .max = 60,
        .table = "sites",
        .key = "key",
        .what = "Key of a site of the clinic."},
    {.name = "screw_model_id",
        .kind = HFD_COLUMN_UUID,
        .flags = HFD_REQUIRED | HFD_FILTER,
        .table = "screw_models",
        .what = "Model; its dimensions enter the mechanics."},
    {.name = "lot", .kind = HFD_COLUMN_TEXT, .flags = HFD_FILTER, .what = "Lot on the package."},
    {.name = "expires_on", .kind = HFD_COLUMN_DATE, .what = "Last day of use on the package."},
    {.name = "udi",
        .kind = HFD_COLUMN_TEXT,
        .flags = HFD_ANY_TEXT,
        .max = 500,
        .what = "Device identifier as scanned, every character."},
    {.name = "entry",
        .kind = HFD_COLUMN_PART,
        .shape = &hfd_shapes[HFD_SHAPE_POINT],
        .what = "Where the axis meets the bone: [x, y, z] in mm or a told point."},
    {.name = "axis",
        .kind = HFD_COLUMN_PART,
        .shape = &hfd_shapes[HFD_SHAPE_AXIS],
        .what = "From tip to head: a vector, or \"perpendicular\"."},
    {.name = "tilt_deg",
        .kind = HFD_COLUMN_REAL,
        .limit = HF_LIMIT_TILT,
        .what = "Lean of a perpendicular axis towards anterior."},
    {.name = "tissue_mm",
        .kind = HFD_COLUMN_REAL,
        .limit = HF_LIMIT_TISSUE,
        .what = "Thickness of the mucosa under the head."},
    {.name = "stand_off_mm",
        .kind = HFD_COLUMN_REAL,
        .limit = HF_LIMIT_STAND_OFF,
        .what = "Height of the head over the mucosa."},
    {.name = "cortex_mm",
        .kind = HFD_COLUMN_REAL,
        .limit = HF_LIMIT_CORTEX,
        .what = "Measured cortical bone."},
    {.name = "cortex_modulus_mpa",
        .kind = HFD_COLUMN_REAL,
        .limit = HF_LIMIT_CORTEX_MODULUS,
        .what = "Modulus of the cortex."},
    {.name = "cancellous_modulus_mpa",
        .kind = HFD_COLUMN_REAL,
        .limit = HF_LIMIT_CANCELLOUS_MODULUS,
        .what = "Modulus of the bone under the cortex."},
    {.name = "root_distance_mm",
        .kind = HFD_COLUMN_REAL,
        .limit = HF_LIMIT_ROOT_DISTANCE,
        .what = "Least distance to a root."},
    {.name = "mucosa", .kind = HFD_COLUMN_ENUM, .names = mucosae, .what = "Mucosa at the head."},
    {.name = "predrilled", .kind = HFD_COLUMN_BOOL, .what = "A hole was drilled first."},
    {.name = "placed_on",
        .kind = HFD_COLUMN_DATE,
        .flags = HFD_REQUIRED | HFD_RANGE | HFD_SORT,
        .what = "Day of insertion."},
    {.name = "placed_by_count",
        .kind = HFD_COLUMN_INT,
        .limit = HF_LIMIT_SCREWS_PLACED_BEFORE,
        .what = "How many screws the operator had placed before."},
    {.name = "insertion_torque_ncm",
        .kind = HFD_COLUMN_REAL,
        .limit = HF_LIMIT_INSERTION_TORQUE,
        .what = "Largest torque at insertion."},
    {.name = "state",
        .kind = HFD_COLUMN_ENUM,
        .flags = HFD_FILTER,
        .names = states,
        .initial = "in-place",
        .what = "How it stands."},
    {.name = "state_on",
        .kind = HFD_COLUMN_DATE,
        .flags = HFD_RANGE,
        .what = "Since when; needed for every state but in-place."},
    {.name = "state_reason",
        .kind = HFD_COLUMN_TEXT,
        .flags = HFD_ANY_TEXT,
        .max = 1000,
        .what = "Why, in free text."},
    HFD_COLUMNS_AFTER,
};

static void check(const struct hfd_row *row, struct hfd_errors *errors) {
    const char *state = hfd_row_get(row, "state");
    if (strcmp(state, "in-place") != 0 && hfd_row_get(row, "state_on") == NULL)
        hfd_errors_add(errors, "/state_on", "Required when state is %s.", state);
    hfd_row_ordered(row, "placed_on", "state_on", errors);
}

static const struct hfd_rule rules[] = {
    {.sql = "select coalesce($1::uuid, (select patient_id from cases where id = $2::uuid))",
        .params = {"patient_id", "case_id"},
        .fills = {"patient_id"}},
    {.sql = "select '/patient_id', 'The case is of another patient.' "
            "from cases where id = $2::uuid and patient_id <> $1::uuid",
        .params = {"patient_id", "case_id"}},
};

static const struct hfd_route routes[] = {HFD_IMPORT_ROUTE("/v1/screws/import",
    "\"case_id,name,site,screw_model_id,placed_on\\n01890a5d-ac96-774b-bcce-b302099a8057,A,palate-paramedian,01890a5d-ac96-774b-bcce-b302099a8057,2026-02-16\\n\"")};
/* As people know them: the chart number, with the title where the patient has several cases; the model's
 * name. */
static const struct hfd_import import = {.key = {"case_id", "name"},
    .lookups = {{.column = "case_id",
                    .headers = {"chart_number", "case_title"},
                    .sql = "select c.id from cases c join patients p on p.id = c.patient_id "
                           "where p.chart_number = $1 and ($2 = '' or c.title = $2)"},
        {.column = "screw_model_id",
            .headers = {"screw_model"},
            .sql =
                "select id from screw_models where name = $1 order by effective_from desc nulls last limit 1"}}};

const struct hfd_resource hfd_resource_screws = {
    .path = "/v1/screws",
    .noun = "screw",
    .example =
        "{\"case_id\": \"01890a5d-ac96-774b-bcce-b302099a8057\", \"name\": \"A\", \"site\": \"palate-paramedian\", "
        "\"screw_model_id\": \"01890a5d-ac96-774b-bcce-b302099a8057\", "
        "\"entry\": {\"palate\": {\"right_mm\": 4, \"behind_incisors_mm\": 26}}, \"axis\": \"perpendicular\", "
        "\"placed_on\": \"2026-02-16\", \"insertion_torque_ncm\": {\"value\": 1.8, \"unit\": \"kgf.cm\"}}",
    .change = "{\"insertion_torque_ncm\": 16}",
    .table = "screws",
    .columns = columns,
    .column_count = HFD_COUNT(columns),
    .verbs = HFD_LIST | HFD_READ | HFD_CREATE | HFD_CHANGE,
    .read_roles = HFD_CHART_READERS,
    .write_roles = HFD_CHART_WRITERS,
    .sort = "-placed_on",
    .check = check,
    .rules = rules,
    .rule_count = HFD_COUNT(rules),
    .routes = routes,
    .route_count = HFD_COUNT(routes),
    .import = &import,
};
