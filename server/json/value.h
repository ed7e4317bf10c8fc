/* Single values: what a field takes, and the sentences that say so. */
#ifndef HFD_VALUE_H
#define HFD_VALUE_H

#include "decode.h"

/* Kinds that are neither object nor list. */
void hfd_value_decode(const struct hfd_decoder *decoder, const struct hfd_field *field,
    const struct hfd_path *path, json_t *json, void *at);

/* Could this JSON value be meant for the field, by its type (or the one word it takes) alone? */
bool hfd_value_fits(const struct hfd_field *field, json_t *json);

/* "a number in mm or {\"value\", \"unit\"}" */
const char *hfd_value_expected(const struct hfd_field *field, hf_arena *arena);
/* What came: "the text \"2\"", "an object", "40" */
const char *hfd_value_got(json_t *json, hf_arena *arena);

#endif
