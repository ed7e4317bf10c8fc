#include "../../../core/material.h"

#include <criterion/criterion.h>

#include "../../../core/evidence.h"

static const hf_material *material(const char *name) {
    const hf_material *m = hf_material_find(name);
    cr_assert_not_null(m, "%s", name);
    return m;
}

/* ASTM B381, F136, F139: least yield (MPa). Moduli by grade in million psi, 6894.757 MPa each. */
Test(material, standards) {
    static const struct {
        const char *name;
        double modulus_mpsi, yield_mpa;
    } table[] = {{"titanium-grade-2", 14.9, 275}, {"titanium-grade-4", 15.0, 483},
        {"titanium-6al-4v", 16.4, 795}, {"stainless-steel", 28.0, 690},
        {"stainless-steel-annealed", 28.0, 172}};
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        const hf_material *m = material(table[i].name);
        cr_expect_float_eq(
            m->modulus_mpa, table[i].modulus_mpsi * 6894.757, 0.001 * m->modulus_mpa, "%s", m->name);
        cr_expect_float_eq(m->yield_mpa, table[i].yield_mpa, 0.01 * m->yield_mpa, "%s", m->name);
    }
}

/* Drawn steel wire is about 20 % softer than the 193 to 200 GPa of the bulk (Goldberg et al. 1977): 154 to
 * 160 GPa. */
Test(material, drawn_steel_is_softer) {
    double share = material("stainless-steel-wire")->modulus_mpa / 200000.0;
    cr_expect_float_eq(share, 0.80, 0.03);
    /* Ratio of bending stiffness of beta-titanium to steel wire: 0.42 (Burstone 1981, value from memory). */
    cr_expect_float_eq(
        material("beta-titanium")->modulus_mpa / material("stainless-steel-wire")->modulus_mpa, 0.42, 0.03);
}

Test(material, names_are_found_and_their_sources_too) {
    for (size_t i = 0; i < hf_material_count; i++) {
        cr_expect_eq(hf_material_find(hf_materials[i].name), &hf_materials[i]);
        cr_expect_not_null(hf_citation_find(hf_materials[i].source), "%s", hf_materials[i].source);
        cr_expect(
            hf_materials[i].poisson > 0.25 && hf_materials[i].poisson < 0.40, "%s", hf_materials[i].name);
    }
    cr_expect_null(hf_material_find("unobtainium"));
    cr_expect_null(hf_material_find(""));
}
