#include "case_table.h"

#include <string.h>

#include "../../core/case.h"
#include "decode.h"
#include "table.h"

HFD_INIT(hf_site_in, hf_site_default)
HFD_INIT(hf_case, hf_case_default)

static const char *const frame_names[] = {"occlusal-lps", NULL};
static const char *const jaw_names[] = {"maxilla", "mandible", NULL};

static const struct hfd_field loss_fields[] = {
    {"low", HFD_FIELD_REAL, REQUIRED, AT(hf_site_in, loss_low), .limit = HF_LIMIT_LOSS,
        .what = "lower bound, 95 %"},
    {"mid", HFD_FIELD_REAL, REQUIRED, AT(hf_site_in, loss_mid), .limit = HF_LIMIT_LOSS,
        .what = "best estimate"},
    {"high", HFD_FIELD_REAL, REQUIRED, AT(hf_site_in, loss_high), .limit = HF_LIMIT_LOSS,
        .what = "upper bound, 95 %"},
};
static const struct hfd_table loss_table = {
    "a share lost", HFD_FIELDS(loss_fields), .size = sizeof(hf_site_in)};

static const struct hfd_field site_fields[] = {
    {"key", HFD_FIELD_TEXT, REQUIRED, AT(hf_site_in, key), .what = "key: a published site's, or a new one"},
    {"jaw", HFD_FIELD_ENUM, AT(hf_site_in, jaw), .names = jaw_names, .what = "jaw"},
    {"loss", HFD_FIELD_OBJECT, .table = &loss_table, .what = "share of screws lost over a treatment"},
    {"cortex_mm", HFD_FIELD_REAL, AT(hf_site_in, cortex_mm), .limit = HF_LIMIT_CORTEX,
        .what = "usual thickness of the cortex"},
    {"cancellous_modulus_mpa", HFD_FIELD_REAL, AT(hf_site_in, cancellous_modulus_mpa),
        .limit = HF_LIMIT_CANCELLOUS_MODULUS, .what = "elastic modulus of the cancellous bone"},
    {"torque_low_ncm", HFD_FIELD_REAL, AT(hf_site_in, torque_low_ncm), .limit = HF_LIMIT_INSERTION_TORQUE,
        .needs = "torque_high_ncm", .what = "lower end of the insertion-torque window"},
    {"torque_high_ncm", HFD_FIELD_REAL, AT(hf_site_in, torque_high_ncm), .limit = HF_LIMIT_INSERTION_TORQUE,
        .needs = "torque_low_ncm", .what = "upper end of the insertion-torque window"},
    {"source", HFD_FIELD_TEXT, AT(hf_site_in, source), .what = "where the numbers come from"},
    {"own_placed", HFD_FIELD_INT, AT(hf_site_in, own_placed), .limit = HF_LIMIT_OWN_SCREWS,
        .needs = "own_lost", .what = "the clinic's own screws there, pooled with the loss"},
    {"own_lost", HFD_FIELD_INT, AT(hf_site_in, own_lost), .limit = HF_LIMIT_OWN_SCREWS, .needs = "own_placed",
        .what = "how many of them were lost"},
    {"own_treatments", HFD_FIELD_REAL, AT(hf_site_in, own_treatments), .limit = HF_LIMIT_OWN_SCREWS,
        .needs = "own_placed",
        .what =
            "whole treatments they add up to: a lost screw is one, one in place the share of the danger it has stood; left out: own_placed"},
};

static void site_check(const struct hfd_decoder *d, const struct hfd_path *path, const void *item) {
    const hf_site_in *site = item;
    struct hfd_path loss = {.up = path, .name = "loss"}, torque = {.up = path, .name = "torque_high_ncm"};
    struct hfd_path lost = {.up = path, .name = "own_lost"},
                    treatments = {.up = path, .name = "own_treatments"};
    if (site->own_lost > site->own_placed) hfd_decode_error(d, &lost, "is more than `own_placed`");
    if (site->own_treatments < site->own_lost || site->own_treatments > site->own_placed)
        hfd_decode_error(d, &treatments, "expected between `own_lost` and `own_placed`");
    if (site->loss_low > site->loss_mid || site->loss_mid > site->loss_high)
        hfd_decode_error(d, &loss, "expected low <= mid <= high");
    if (site->torque_low_ncm > site->torque_high_ncm)
        hfd_decode_error(d, &torque, "is below `torque_low_ncm`");
}

static const struct hfd_table site_table = {"a site", HFD_FIELDS(site_fields), .size = sizeof(hf_site_in),
    .init = hf_site_in_init, .check = site_check};

static const struct hfd_field patient_fields[] = {
    {"age_years", HFD_FIELD_REAL, AT(hf_patient_in, age_years), .limit = HF_LIMIT_AGE,
        .what = "age in years"},
    {"cigarettes_per_day", HFD_FIELD_REAL, AT(hf_patient_in, cigarettes_per_day),
        .limit = HF_LIMIT_CIGARETTES, .what = "cigarettes per day"},
};
static const struct hfd_table patient_table = {
    "the patient in numbers", HFD_FIELDS(patient_fields), .size = sizeof(hf_patient_in)};

static const struct hfd_field uncertainty_fields[] = {
    {"samples", HFD_FIELD_INT, REQUIRED, AT(hf_uncertainty_in, samples), .limit = HF_LIMIT_SAMPLES,
        .what = "how many draws of the uncertain inputs"},
    {"seed", HFD_FIELD_INT, AT(hf_uncertainty_in, seed), .limit = HF_LIMIT_SEED,
        .what = "which draws; left out: 1"},
};
static const struct hfd_table uncertainty_table = {
    "how uncertainty is told", HFD_FIELDS(uncertainty_fields), .size = sizeof(hf_uncertainty_in)};

static const struct hfd_field case_fields[] = {
    {"frame", HFD_FIELD_ENUM, REQUIRED, .at = HFD_NOWHERE, .names = frame_names,
        .what =
            "axes of all coordinates: +x to the patient's left, +y posterior, +z superior, from the incisal edges"},
    {"on", HFD_FIELD_DATE, REQUIRED, AT(hf_case, on), .what = "date of the evaluation"},
    {"arches", HFD_FIELD_OBJECT, AT(hf_case, arches), .table = &hfd_arches_table,
        .what = "size of the dental arches"},
    {"teeth", LIST(hf_case, teeth, tooth_count), .limit = HF_LIMIT_TEETH, .table = &hfd_tooth_table,
        .what = "teeth that differ from the default"},
    {"segments", LIST(hf_case, segments, segment_count), .limit = HF_LIMIT_SEGMENTS,
        .table = &hfd_segment_table, .what = "groups of teeth that move as one"},
    {"sites", LIST(hf_case, sites, site_count), .limit = HF_LIMIT_SITES, .table = &site_table,
        .what = "the clinic's own sites, or its own figures for published ones"},
    {"screws", LIST(hf_case, screws, screw_count), .limit = HF_LIMIT_SCREWS, .table = &hfd_screw_table,
        .what = "screws in the bone"},
    {"plate", LIST(hf_case, plates, plate_count), .flags = HFD_FIELD_SINGLE, .limit = HF_LIMIT_PLATES,
        .table = &hfd_plate_table, .excludes = "plates", .what = "the plate, when there is one"},
    {"plates", LIST(hf_case, plates, plate_count), .flags = HFD_FIELD_SEVERAL, .limit = HF_LIMIT_PLATES,
        .table = &hfd_plate_table, .what = "the plates, when there are several"},
    {"elements", LIST(hf_case, elements, element_count), .limit = HF_LIMIT_ELEMENTS,
        .table = &hfd_element_table, .what = "what delivers force"},
    {"patient", HFD_FIELD_OBJECT, AT(hf_case, patient), .table = &patient_table,
        .what = "what bears on stability"},
    {"uncertainty", HFD_FIELD_OBJECT, AT(hf_case, uncertainty), .table = &uncertainty_table,
        .what = "tell ranges by draws of the uncertain inputs"},
    {"horizon_days", HFD_FIELD_INT, AT(hf_case, horizon_days), .limit = HF_LIMIT_HORIZON,
        .what = "days that the risk is told for; left out: 42"},
};
static void check_site_keys(const struct hfd_decoder *d, const struct hfd_path *path, const hf_case *in) {
    struct hfd_path sites = {.up = path, .name = "sites"};
    for (size_t i = 0; i < in->site_count; i++) {
        struct hfd_path site = {.up = &sites, .index = i}, key = {.up = &site, .name = "key"};
        for (size_t j = 0; j < i && in->sites[i].key; j++) {
            if (!in->sites[j].key || strcmp(in->sites[j].key, in->sites[i].key) != 0) continue;
            hfd_decode_error(d, &key, "is already taken by another site");
            break;
        }
    }
}

/* What one computation may cost. */
static void check_size(const struct hfd_decoder *d, const struct hfd_path *path, const hf_case *in) {
    const hf_limit_range *range = &hf_limits[HF_LIMIT_ALL_NODES];
    struct hfd_path plates = {.up = path, .name = "plates"};
    size_t nodes = 0;
    for (size_t i = 0; i < in->plate_count; i++) {
        nodes += in->plates[i].node_count;
    }
    if (!hf_limit_allows(HF_LIMIT_ALL_NODES, (double)nodes))
        hfd_decode_error(d, &plates, "expected the %s at most %g, got %zu", range->what, range->high, nodes);
}

static void case_check(const struct hfd_decoder *d, const struct hfd_path *path, const void *item) {
    check_site_keys(d, path, item);
    check_size(d, path, item);
}

const struct hfd_table hfd_case_table = {"the document", HFD_FIELDS(case_fields), .size = sizeof(hf_case),
    .init = hf_case_init, .check = case_check};
