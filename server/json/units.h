/* Units of quantities. A member's own unit is the end of its name (`force_n`, `torque_ncm`, `wire_in`), so
 * that it stands in one place only; a value may come in any other unit of the same dimension, by its UCUM
 * code. */
#ifndef HFD_UNITS_H
#define HFD_UNITS_H

enum hfd_dimension { HFD_LENGTH, HFD_FORCE, HFD_MOMENT, HFD_STRESS, HFD_ANGLE, HFD_DIMENSION_COUNT };

struct hfd_unit {
    const char *code;   /* UCUM, case-sensitive */
    const char *suffix; /* of member names that carry it; NULL: input only */
    enum hfd_dimension dimension;
    double factor; /* 1 unit = factor x (mm, N, N mm, MPa, deg) */
};

extern const struct hfd_unit hfd_units[]; /* ended by code NULL */
extern const char *const hfd_dimension_names[HFD_DIMENSION_COUNT];

/* NULL when there is none. */
const struct hfd_unit *hfd_unit_find(const char *code);
/* By the part after the last underscore; NULL: a bare number. */
const struct hfd_unit *hfd_unit_of_member(const char *name);
double hfd_unit_convert(double value, const struct hfd_unit *from, const struct hfd_unit *to);

#endif
