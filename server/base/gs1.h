/* What a scanner reads from a device's package: a GS1 element string, or the same with its application
 * identifiers in brackets as printed beneath the symbol. Source of the rules: GS1's syntax dictionary and its
 * linters. */
#ifndef HFD_GS1_H
#define HFD_GS1_H

#include <stdbool.h>
#include <stddef.h>

#include "../../core/arena.h"

/* GTIN of 8, 12, 13 or 14 digits with a right check digit. */
bool hfd_gs1_is_gtin(const char *text);

struct hfd_gs1_piece {
    const char *identifier, *value; /* "17", "280131" */
};

enum { HFD_GS1_PIECES = 16 };

struct hfd_gs1 {
    const char *gtin;         /* 14 digits */
    const char *lot, *serial; /* NULL: not told */
    bool has_made_on, has_expires_on;
    int made_on, expires_on; /* days as in date.h */
    struct hfd_gs1_piece
        pieces[HFD_GS1_PIECES]; /* all, in order: a lost separator hides a field in the one before */
    size_t piece_count;
};

/* NULL, or what is wrong. A separator is the character 0x1D, or its picture U+241D. Years of two digits are
 * the ones nearest to `year`; day 00 is the last of its month. */
const char *hfd_gs1_parse(const char *scan, int year, hf_arena *arena, struct hfd_gs1 *out);

#endif
