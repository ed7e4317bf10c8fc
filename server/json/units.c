#include "units.h"

#include <string.h>

/* Definitions of UCUM: g = 9.80665 m/s2, [in_i] = 2.54 cm, [lb_av] = 7000 x 64.79891 mg, [oz_av] =
 * [lb_av]/16. */
#define GF 0.00980665
#define LBF 4.4482216152605
#define OZF (LBF / 16.0)
#define DEG_PER_RAD 57.295779513082320877

/* "ozf" is no UCUM code; ounce-force there is "[oz_av].[g]". It is taken because elastics are sold by it. */
const struct hfd_unit hfd_units[] = {
    {"mm", "mm", HFD_LENGTH, 1.0},
    {"um", "um", HFD_LENGTH, 0.001},
    {"[in_i]", "in", HFD_LENGTH, 25.4},
    {"cm", NULL, HFD_LENGTH, 10.0},
    {"m", NULL, HFD_LENGTH, 1000.0},
    {"N", "n", HFD_FORCE, 1.0},
    {"cN", NULL, HFD_FORCE, 0.01},
    {"mN", NULL, HFD_FORCE, 0.001},
    {"kN", NULL, HFD_FORCE, 1000.0},
    {"gf", NULL, HFD_FORCE, GF},
    {"kgf", NULL, HFD_FORCE, 1000.0 * GF},
    {"[lbf_av]", NULL, HFD_FORCE, LBF},
    {"[oz_av].[g]", NULL, HFD_FORCE, OZF},
    {"ozf", NULL, HFD_FORCE, OZF},
    {"N.mm", "nmm", HFD_MOMENT, 1.0},
    {"N.cm", "ncm", HFD_MOMENT, 10.0},
    {"N.m", NULL, HFD_MOMENT, 1000.0},
    {"cN.mm", NULL, HFD_MOMENT, 0.01},
    {"cN.cm", NULL, HFD_MOMENT, 0.1},
    {"mN.m", NULL, HFD_MOMENT, 1.0},
    {"gf.mm", NULL, HFD_MOMENT, GF},
    {"gf.cm", NULL, HFD_MOMENT, 10.0 * GF},
    {"kgf.mm", NULL, HFD_MOMENT, 1000.0 * GF},
    {"kgf.cm", NULL, HFD_MOMENT, 10000.0 * GF},
    {"MPa", "mpa", HFD_STRESS, 1.0},
    {"kPa", "kpa", HFD_STRESS, 0.001},
    {"Pa", NULL, HFD_STRESS, 1e-6},
    {"GPa", NULL, HFD_STRESS, 1000.0},
    {"N/mm2", NULL, HFD_STRESS, 1.0},
    {"deg", "deg", HFD_ANGLE, 1.0},
    {"rad", NULL, HFD_ANGLE, DEG_PER_RAD},
    {NULL, NULL, HFD_DIMENSION_COUNT, 0.0},
};

const char *const hfd_dimension_names[HFD_DIMENSION_COUNT] = {
    [HFD_LENGTH] = "length",
    [HFD_FORCE] = "force",
    [HFD_MOMENT] = "moment",
    [HFD_STRESS] = "stress",
    [HFD_ANGLE] = "angle",
};

const struct hfd_unit *hfd_unit_find(const char *code) {
    for (const struct hfd_unit *unit = hfd_units; unit->code; unit++) {
        if (strcmp(unit->code, code) == 0) return unit;
    }
    return NULL;
}

const struct hfd_unit *hfd_unit_of_member(const char *name) {
    const char *suffix = strrchr(name, '_');
    if (!suffix || strstr(name, "_per_")) return NULL; /* a quotient is told in its own unit only */
    for (const struct hfd_unit *unit = hfd_units; unit->code; unit++) {
        if (unit->suffix && strcmp(unit->suffix, suffix + 1) == 0) return unit;
    }
    return NULL;
}

double hfd_unit_convert(double value, const struct hfd_unit *from, const struct hfd_unit *to) {
    return from == to ? value : value * from->factor / to->factor;
}
