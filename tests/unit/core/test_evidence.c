#include "../../../core/evidence.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

/* Walks the whole table: every constant must be told completely. Rows of all topics are under test here. */

static const char *const units[] = {"1", "mm", "mm2", "um", "N", "N mm", "N cm", "N/mm", "N/mm2", "1/mm",
    "mm/N", "1/N", "MPa", "MPa/N", "MPa/(N mm)", "1/(N mm)", "GPa", "kPa", "day", "h", "month", "year",
    "1/day", "1/year", "deg", "rad", "microstrain", "mm/month", "deg/month", "deg/mm", "gf", "mrad"};

static bool is_unit(const char *unit) {
    for (size_t i = 0; i < sizeof units / sizeof *units; i++)
        if (strcmp(units[i], unit) == 0) return true;
    return false;
}

static bool is_key(const char *key) {
    return *key && strspn(key, "abcdefghijklmnopqrstuvwxyz0123456789-") == strlen(key);
}

Test(evidence, every_row_is_complete) {
    for (size_t i = 0; i < HF_EV_COUNT; i++) {
        const hf_evidence *row = &hf_evidence_table[i];
        cr_assert(row->key && is_key(row->key), "row %zu: key", i);
        cr_expect(isfinite(row->value), "%s: value", row->key);
        bool exact = isnan(row->low) && isnan(row->high);
        cr_expect(exact || (row->low <= row->value && row->value <= row->high), "%s: %g outside %g to %g",
            row->key, row->value, row->low, row->high);
        cr_expect(is_unit(row->unit), "%s: unit '%s'", row->key, row->unit);
        cr_expect(hf_citation_find(row->source), "%s: source '%s'", row->key, row->source);
        cr_expect((unsigned)row->held < HF_HELD_COUNT, "%s: held", row->key);
        cr_expect(row->what && strlen(row->what) > 8, "%s: says too little", row->key);
    }
}

/* A number without a paper says so, and one with a paper does not hide behind "judgement". */
Test(evidence, held_fits_the_source) {
    for (size_t i = 0; i < HF_EV_COUNT; i++) {
        const hf_evidence *row = &hf_evidence_table[i];
        if (strcmp(row->source, "common-practice") == 0)
            cr_expect_eq(row->held, HF_COMMON_PRACTICE, "%s", row->key);
        if (strcmp(row->source, "holdfast-judgement") == 0)
            cr_expect(row->held == HF_JUDGEMENT || row->held == HF_DERIVED, "%s", row->key);
    }
}

static const char *key_at(size_t i) {
    return i < HF_EV_COUNT ? hf_evidence_table[i].key : hf_citations[i - HF_EV_COUNT].key;
}

/* Rows and citations share one name space: a `source` may name either. */
Test(evidence, keys_are_unique) {
    size_t count = HF_EV_COUNT + hf_citation_count;
    for (size_t i = 0; i < count; i++)
        for (size_t k = i + 1; k < count; k++)
            cr_expect(strcmp(key_at(i), key_at(k)) != 0, "'%s' stands twice", key_at(i));
}

Test(evidence, citations_are_told) {
    cr_assert(hf_citation_count > 20);
    for (size_t i = 0; i < hf_citation_count; i++) {
        cr_expect(is_key(hf_citations[i].key), "'%s'", hf_citations[i].key);
        cr_expect(strlen(hf_citations[i].text) > 15, "%s: '%s'", hf_citations[i].key, hf_citations[i].text);
        cr_expect_eq(hf_citation_find(hf_citations[i].key), hf_citations[i].text);
    }
}

Test(evidence, every_row_is_found_by_its_key) {
    for (size_t i = 0; i < HF_EV_COUNT; i++)
        cr_expect_eq(hf_evidence_find(hf_evidence_table[i].key), &hf_evidence_table[i]);
    cr_assert_null(hf_evidence_find("no-such-key"));
    cr_assert_null(hf_citation_find("no-such-key"));
    char longer[400];
    memset(longer, 'a', sizeof longer - 1);
    longer[sizeof longer - 1] = '\0';
    cr_assert_null(hf_evidence_find(longer));
    cr_assert_eq(HF_EV(LOSS_CAP), hf_evidence_find("loss-cap")->value);
}

Test(evidence, held_is_told_in_words) {
    cr_assert_str_eq(hf_held_names[HF_FROM_MEMORY], "value from memory");
    cr_assert_str_eq(hf_held_names[HF_COMMON_PRACTICE], "common practice, no source");
    for (size_t i = 0; i < HF_HELD_COUNT; i++)
        cr_assert(hf_held_names[i] && *hf_held_names[i]);
}
