#include "outcome_table.h"

#include "answer_table.h"
#include "table.h"

#define RANGE(type, member) .kind = HFD_FIELD_OBJECT, AT(type, member), .table = &hfd_range_table

static const struct hfd_field step_fields[] = {
    {"days", HFD_FIELD_INT, AT(hf_survival_step, days), .what = "days after placement"},
    {"at_risk", HFD_FIELD_INT, AT(hf_survival_step, at_risk),
        .what = "screws in place and followed until then"},
    {"lost", HFD_FIELD_INT, AT(hf_survival_step, lost), .what = "screws lost on that day"},
    {"survival", HFD_FIELD_REAL, AT(hf_survival_step, survival), .what = "share that stays beyond that day"},
    {"standard_error", HFD_FIELD_REAL, AT(hf_survival_step, standard_error),
        .what = "Greenwood; left out once nothing stays"},
    {"low", HFD_FIELD_REAL, AT(hf_survival_step, low), .what = "lower end of the 95 % interval, log-log"},
    {"high", HFD_FIELD_REAL, AT(hf_survival_step, high), .what = "upper end"},
};
static const struct hfd_table step_table = {
    "a day with losses", HFD_FIELDS(step_fields), .size = sizeof(hf_survival_step)};

static const struct hfd_field followed_fields[] = {
    {"days", HFD_FIELD_INT, AT(hf_followed, days), .what = "days after placement"},
    {"lost", HFD_FIELD_INT, AT(hf_followed, lost), .what = "screws lost on that day"},
    {"kept", HFD_FIELD_INT, AT(hf_followed, kept),
        .what = "screws in place then and not followed any longer"},
};
static const struct hfd_table followed_table = {
    "screws followed for the same number of days", HFD_FIELDS(followed_fields), .size = sizeof(hf_followed)};

static const struct hfd_field own_fields[] = {
    {"treatments", HFD_FIELD_REAL, AT(hf_own_losses, treatments),
        .what =
            "a lost screw is one; one in place counts the share of a treatment's danger that it has stood"},
    {"lost", HFD_FIELD_REAL, AT(hf_own_losses, lost), .what = "screws lost in them"},
};
static const struct hfd_table own_table = {
    "the clinic's own", HFD_FIELDS(own_fields), .size = sizeof(hf_own_losses)};

static const struct hfd_field base_fields[] = {
    {"published", RANGE(struct hfd_base_loss, published), .what = "share lost in a treatment"},
    {"source", HFD_FIELD_TEXT, AT(struct hfd_base_loss, source), .what = "key of sources, or plain words"},
    {"prior", RANGE(struct hfd_base_loss, pooled.prior), .what = "the same for one clinic: clinics differ"},
    {"own", HFD_FIELD_OBJECT, AT(struct hfd_base_loss, own), .table = &own_table,
        .what = "what was watched here"},
    {"result", RANGE(struct hfd_base_loss, pooled.result), .what = "both together"},
};
static const struct hfd_table base_table = {"loss by what is published and by the clinic's own screws",
    HFD_FIELDS(base_fields), .size = sizeof(struct hfd_base_loss)};

static const struct hfd_field group_fields[] = {
    {"key", HFD_FIELD_TEXT, AT(struct hfd_outcome_group, key), .what = "left out: not recorded"},
    {"name", HFD_FIELD_TEXT, AT(struct hfd_outcome_group, name), .what = "in words"},
    {"suppressed", HFD_FIELD_FLAG, AT(struct hfd_outcome_group, suppressed),
        .what = "fewer than 5 screws: no figures"},
    {"screws", HFD_FIELD_INT, AT(struct hfd_outcome_group, survival.screws), .what = "screws placed"},
    {"lost", HFD_FIELD_INT, AT(struct hfd_outcome_group, survival.lost), .what = "screws lost"},
    {"last_days", HFD_FIELD_INT, AT(struct hfd_outcome_group, survival.last_days),
        .what = "longest time followed"},
    {"steps", LIST(struct hfd_outcome_group, survival.steps, survival.step_count), .table = &step_table,
        .present_at = offsetof(struct hfd_outcome_group, is_told),
        .what = "product limit; none while nothing was lost"},
    {"followed", LIST(struct hfd_outcome_group, survival.followed, survival.followed_count),
        .table = &followed_table, .present_at = offsetof(struct hfd_outcome_group, is_told),
        .what = "what the curve is made of; rising days"},
    {"median_days", RANGE(struct hfd_outcome_group, survival.median_days),
        .what = "days after which half are lost; left out where the curve stays above"},
    {"base", HFD_FIELD_OBJECT, AT(struct hfd_outcome_group, base), .table = &base_table,
        .what = "by site: what the clinic's own screws make of the published loss"},
};
static const struct hfd_table group_table = {
    "a group of screws", HFD_FIELDS(group_fields), .size = sizeof(struct hfd_outcome_group)};

static const struct hfd_field model_fields[] = {
    {"core", HFD_FIELD_TEXT, REQUIRED, AT(struct hfd_outcomes, core), .what = "version of the computation"},
    {"parameters", HFD_FIELD_TEXT, REQUIRED, AT(struct hfd_outcomes, parameters),
        .what = "version of the constants"},
};
static const struct hfd_table model_table = {
    "the model", HFD_FIELDS(model_fields), .size = sizeof(struct hfd_outcomes)};

static const struct hfd_field outcomes_fields[] = {
    {"model", HFD_FIELD_OBJECT, REQUIRED, .table = &model_table, .what = "versions of what computed this"},
    {"on", HFD_FIELD_TEXT, REQUIRED, AT(struct hfd_outcomes, on), .what = "day that it is told for"},
    {"by", HFD_FIELD_TEXT, REQUIRED, AT(struct hfd_outcomes, by),
        .what = "what the groups are told apart by"},
    {"groups", LIST(struct hfd_outcomes, groups, group_count), .table = &group_table,
        .what = "in order of key"},
    {"sources", .kind = HFD_FIELD_MAP, .at = offsetof(struct hfd_outcomes, sources),
        .count_at = offsetof(struct hfd_outcomes, source_count), .table = &hfd_source_table,
        .what = "citations by key"},
    {"notice", HFD_FIELD_TEXT, REQUIRED, AT(struct hfd_outcomes, notice), .what = "how to read it"},
};
const struct hfd_table hfd_outcomes_table = {
    "what became of screws", HFD_FIELDS(outcomes_fields), .size = sizeof(struct hfd_outcomes)};
