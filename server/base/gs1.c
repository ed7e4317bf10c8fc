#include "gs1.h"

#include <stdio.h>
#include <string.h>

#include "date.h"

/* What stands on packages of devices. Any other identifier is refused rather than skipped: where its value
 * ends is not known. */
static const struct identifier {
    const char *text;
    size_t most; /* characters */
    bool fixed;  /* exactly as many, without a separator behind */
} identifiers[] = {
    {"00", 18, true},
    {"01", 14, true},
    {"02", 14, true},
    {"10", 20, false},
    {"11", 6, true},
    {"12", 6, true},
    {"13", 6, true},
    {"15", 6, true},
    {"16", 6, true},
    {"17", 6, true},
    {"20", 2, true},
    {"21", 20, false},
    {"22", 20, false},
    {"240", 30, false},
    {"241", 30, false},
    {"30", 8, false},
    {"37", 8, false},
};
static const char digits[] = "0123456789";
/* GS1's character set 82. */
static const char letters[] =
    "!\"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz";

/* Weights 3, 1, 3 … from the digit before the last. */
static bool is_checked(const char *text, size_t length) {
    int sum = 0;
    for (size_t i = 0; i < length; i++)
        sum += (text[i] - '0') * ((length - i) % 2 ? 1 : 3);
    return sum % 10 == 0;
}

bool hfd_gs1_is_gtin(const char *text) {
    const size_t length = strlen(text);
    return (length == 8 || (length >= 12 && length <= 14)) && strspn(text, digits) == length &&
           is_checked(text, length);
}

static const struct identifier *identifier_at(const char *text) {
    for (size_t i = 0; i < sizeof identifiers / sizeof *identifiers; i++)
        if (strncmp(text, identifiers[i].text, strlen(identifiers[i].text)) == 0) return &identifiers[i];
    return NULL;
}

/* Length of a separator at this place; 0: none. */
static size_t separator(const char *text) {
    return *text == 0x1d ? 1 : strncmp(text, "\u241d", 3) == 0 ? 3 : 0;
}

/* The identifier that stands in brackets here. A bracket may also be part of a value. */
static const struct identifier *bracketed(const char *text) {
    const struct identifier *found = *text == '(' ? identifier_at(text + 1) : NULL;
    return found != NULL && text[1 + strlen(found->text)] == ')' ? found : NULL;
}

/* Day 00 is the last of its month. */
static const char *read_date(const char *value, int year, int *days) {
    int yy = 10 * (value[0] - '0') + value[1] - '0', month = 10 * (value[2] - '0') + value[3] - '0',
        day = 10 * (value[4] - '0') + value[5] - '0', apart = yy - year % 100;
    if (month < 1 || month > 12) return "There is no such month.";
    int century = year / 100 + (apart >= 51 ? -1 : apart <= -50 ? 1 : 0);
    char text[HFD_DATE_TEXT + 16];
    for (int last = day == 0 ? 31 : day; last >= (day == 0 ? 28 : day); last--) {
        snprintf(text, sizeof text, "%04d-%02d-%02d", 100 * century + yy, month, last);
        if (hfd_date_parse(text, days)) return NULL;
    }
    return "There is no such day.";
}

static const char *keep(
    struct hfd_gs1 *out, const struct identifier *identifier, const char *value, int year) {
    for (size_t i = 0; i < out->piece_count; i++)
        if (strcmp(out->pieces[i].identifier, identifier->text) == 0) return "It is told twice.";
    if (out->piece_count == HFD_GS1_PIECES) return "There are too many.";
    out->pieces[out->piece_count++] = (struct hfd_gs1_piece){identifier->text, value};
    const size_t length = strlen(value);
    if (length == 0 || length > identifier->most || (identifier->fixed && length < identifier->most))
        return identifier->fixed ? "Its value has another length." : "Its value is empty or too long.";
    if (strspn(value, identifier->fixed ? digits : letters) < length)
        return "Its value has a character that may not stand there.";
    const bool is_date = identifier->fixed && identifier->most == 6;
    int days = 0;
    const char *fault = is_date ? read_date(value, year, &days) : NULL;
    if (fault != NULL) return fault;
    const char *name = identifier->text;
    if (identifier->fixed && identifier->most >= 14 && !is_checked(value, length))
        return "Its check digit is wrong.";
    if (strcmp(name, "01") == 0) out->gtin = value;
    if (strcmp(name, "10") == 0) out->lot = value;
    if (strcmp(name, "21") == 0) out->serial = value;
    if (strcmp(name, "11") == 0) out->has_made_on = true, out->made_on = days;
    if (strcmp(name, "17") == 0) out->has_expires_on = true, out->expires_on = days;
    return NULL;
}

/* Length of the value that begins here. */
static size_t value_length(const char *value, const struct identifier *identifier, bool brackets) {
    size_t length = 0;
    while (value[length] != '\0' && separator(value + length) == 0 &&
           !(brackets && bracketed(value + length)) &&
           !(!brackets && identifier->fixed && length == identifier->most))
        length++;
    return length;
}

const char *hfd_gs1_parse(const char *scan, int year, hf_arena *arena, struct hfd_gs1 *out) {
    *out = (struct hfd_gs1){0};
    if (scan[0] == ']' && scan[1] != '\0' && scan[2] != '\0')
        scan += 3; /* symbology, as scanners may send it */
    scan += separator(scan);
    const bool brackets = *scan == '(';
    while (*scan != '\0') {
        const struct identifier *identifier = brackets ? bracketed(scan) : identifier_at(scan);
        const size_t shown = strspn(scan, letters);
        if (identifier == NULL)
            return hf_arena_printf(
                arena, "\"%.*s\" begins with no identifier known here.", (int)(shown < 4 ? shown : 4), scan);
        scan += strlen(identifier->text) + (brackets ? 2 : 0);
        const size_t length = value_length(scan, identifier, brackets);
        const char *fault = keep(out, identifier, hf_arena_printf(arena, "%.*s", (int)length, scan), year);
        if (fault != NULL) return hf_arena_printf(arena, "(%s) %s", identifier->text, fault);
        scan += length;
        scan += separator(scan);
    }
    return out->gtin == NULL ? "There is no GTIN, (01)." : NULL;
}
