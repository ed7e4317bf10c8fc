/* What is handed to whoever draws: places told in numbers come back as they were told, the rest where the
 * arch and the tables of teeth have it. */
#include "../../../core/geometry.h"

#include <criterion/criterion.h>
#include <stdint.h>

#include "../../../core/evaluate.h"

static hf_arena arena;
static void open_arena(void) {
    hf_arena_init(&arena, 1 << 16, 0);
}
static void close_arena(void) {
    hf_arena_fini(&arena);
}
TestSuite(geometry, .init = open_arena, .fini = close_arena);

static const int molars[] = {17, 18}, front[] = {13, 11};

typedef struct setup {
    hf_segment_in segments[2];
    hf_screw_in screw;
    hf_node_in nodes[2];
    hf_bar_in bar;
    hf_seat_in seat;
    hf_fitting_in fitting;
    hf_plate_in plate;
    hf_element_in element;
    hf_case in;
} setup;

static hf_point at(double x, double y, double z) {
    hf_point point = hf_point_default();
    point.kind = HF_POINT_XYZ;
    point.xyz_mm = hf_vec3_of(x, y, z);
    return point;
}

/* One screw straight up in the palate, a plate of one flat bar to a tube, a chain to a molar, two wired front
 * teeth. */
static void build(setup *s) {
    *s = (setup){.in = hf_case_default()};
    s->segments[0] = s->segments[1] = hf_segment_default();
    s->segments[0].name = "molars", s->segments[0].teeth = molars, s->segments[0].tooth_count = 2;
    s->segments[1].name = "front", s->segments[1].teeth = front, s->segments[1].tooth_count = 2;
    s->segments[1].wired = true;
    s->segments[1].wire_section = (hf_section_in){.kind = HF_SECTION_ROUND, .round_mm = 0.4};
    s->segments[1].wire_material =
        (hf_material_in){.modulus_mpa = 180000.0, .poisson = 0.3, .yield_mpa = NAN};
    s->screw = hf_screw_default();
    s->screw.name = "A", s->screw.site = "palate-median", s->screw.entry = at(0.0, 25.0, 15.0);
    s->screw.axis = hf_vec3_of(0.0, 0.0, -2.0);
    s->screw.diameter_mm = 2.0, s->screw.length_mm = 8.0, s->screw.tissue_mm = 1.5,
    s->screw.stand_off_mm = 0.5;
    s->nodes[0] = s->nodes[1] = hf_node_default();
    s->nodes[0].name = "seat", s->nodes[0].at = at(0.0, 25.0, 13.0);
    s->nodes[1].name = "end", s->nodes[1].at = at(-15.0, 45.0, 10.0);
    s->bar = hf_bar_default();
    s->bar.from = "seat", s->bar.to = "end";
    s->bar.section = (hf_section_in){.kind = HF_SECTION_RECTANGLE, .rectangle_mm = {2.0, 0.9}};
    s->bar.normal = hf_vec3_of(0.0, 0.0, 1.0);
    s->seat = (hf_seat_in){"seat", "A"};
    s->fitting = hf_fitting_default();
    s->fitting.node = "end", s->fitting.kind = HF_FITTING_TUBE, s->fitting.axis = hf_vec3_of(1.0, 0.0, 0.0);
    s->plate = hf_plate_default();
    s->plate.name = "plate", s->plate.nodes = s->nodes, s->plate.node_count = 2;
    s->plate.bars = &s->bar, s->plate.bar_count = 1, s->plate.seats = &s->seat, s->plate.seat_count = 1;
    s->plate.fittings = &s->fitting, s->plate.fitting_count = 1;
    s->element = hf_element_default();
    s->element.name = "chain", s->element.kind = HF_ELEMENT_CHAIN, s->element.force_n = 1.5;
    s->element.from.kind = HF_END_FITTING, s->element.from.fitting = "end";
    s->element.to.kind = HF_END_TOOTH, s->element.to.tooth = 16;
    s->in.on = 20000;
    s->in.segments = s->segments, s->in.segment_count = 2;
    s->in.screws = &s->screw, s->in.screw_count = 1;
    s->in.plates = &s->plate, s->in.plate_count = 1;
    s->in.elements = &s->element, s->in.element_count = 1;
}

static void expect_at(hf_vec3 found, double x, double y, double z) {
    cr_expect(hf_norm(hf_sub(found, hf_vec3_of(x, y, z))) < 1e-12, "%g %g %g", found.x, found.y, found.z);
}

Test(geometry, metal_stands_where_it_was_told) {
    setup s;
    hf_geometry geometry;
    build(&s);
    cr_assert(hf_geometry_of(&s.in, &arena, &geometry));
    cr_assert_eq(geometry.screw_count, 1);
    const hf_geometry_screw *screw = &geometry.screws[0];
    cr_expect_str_eq(screw->name, "A");
    expect_at(screw->entry_mm, 0.0, 25.0, 15.0);
    expect_at(screw->axis, 0.0, 0.0, -1.0);
    expect_at(screw->head_mm, 0.0, 25.0, 13.0);
    cr_expect(screw->jaw == HF_MAXILLA && screw->diameter_mm == 2.0 && screw->length_mm == 8.0);

    cr_assert_eq(geometry.plate_count, 1);
    const hf_geometry_plate *plate = &geometry.plates[0];
    cr_assert(plate->bar_count == 1 && plate->seat_count == 1 && plate->fitting_count == 1);
    expect_at(plate->bars[0].from_mm, 0.0, 25.0, 13.0);
    expect_at(plate->bars[0].to_mm, -15.0, 45.0, 10.0);
    cr_expect(!plate->bars[0].round && plate->bars[0].width_mm == 2.0 && plate->bars[0].thickness_mm == 0.9);
    expect_at(plate->bars[0].normal, 0.0, 0.0, 1.0);
    cr_expect_eq(plate->seats[0].screw, 0);
    expect_at(plate->seats[0].node_mm, 0.0, 25.0, 13.0);
    cr_expect_eq(plate->fittings[0].kind, HF_FITTING_TUBE);
    expect_at(plate->fittings[0].at_mm, -15.0, 45.0, 10.0);
    expect_at(plate->fittings[0].axis, 1.0, 0.0, 0.0);
}

static const hf_geometry_tooth *tooth(const hf_geometry *geometry, int number) {
    for (size_t t = 0; t < geometry->tooth_count; t++) {
        if (geometry->teeth[t].tooth->place.tooth == number) return &geometry->teeth[t];
    }
    return NULL;
}

/* The whole upper arch; of the third molars only the one that a group names; no lower tooth. The segments are
 * those of the answer, a tooth that stands alone included. */
Test(geometry, teeth_of_the_jaws_concerned) {
    setup s;
    hf_geometry geometry;
    hf_answer answer;
    build(&s);
    cr_assert(hf_geometry_of(&s.in, &arena, &geometry) && hf_evaluate(&s.in, &arena, &answer));
    cr_expect(geometry.jaw[HF_MAXILLA] && !geometry.jaw[HF_MANDIBLE]);
    cr_expect_eq(geometry.tooth_count, 15);
    cr_expect(tooth(&geometry, 18) && !tooth(&geometry, 28) && !tooth(&geometry, 46));
    const struct {
        int number;
        const char *segment; /* NULL: of none */
    } cases[] = {{17, "molars"}, {18, "molars"}, {13, "front"}, {16, "16"}, {12, NULL}, {26, NULL}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const hf_geometry_tooth *found = tooth(&geometry, cases[i].number);
        cr_assert_not_null(found);
        if (cases[i].segment)
            cr_expect_str_eq(answer.segments[found->segment].name, cases[i].segment);
        else
            cr_expect_eq(found->segment, SIZE_MAX);
    }
    /* Teeth of the case and others have their roots by the same table: 16 and 26. */
    cr_expect_eq(tooth(&geometry, 16)->tooth->root_count, 3);
    cr_expect_eq(tooth(&geometry, 26)->tooth->root_count, 3);
    cr_expect_eq(
        tooth(&geometry, 16)->tooth->roots[2].length_mm, tooth(&geometry, 26)->tooth->roots[2].length_mm);
}

Test(geometry, a_wire_runs_from_bracket_to_bracket) {
    setup s;
    hf_geometry geometry;
    build(&s);
    cr_assert(hf_geometry_of(&s.in, &arena, &geometry));
    cr_assert_eq(geometry.wire_count, 1);
    hf_vec3 from = tooth(&geometry, 13)->tooth->place.attachment_mm[HF_AT_BRACKET];
    hf_vec3 to = tooth(&geometry, 11)->tooth->place.attachment_mm[HF_AT_BRACKET];
    expect_at(geometry.wires[0].span.from_mm, from.x, from.y, from.z);
    expect_at(geometry.wires[0].span.to_mm, to.x, to.y, to.z);
    cr_expect(geometry.wires[0].jaw == HF_MAXILLA);
    cr_expect(geometry.wires[0].span.round && geometry.wires[0].span.width_mm == 0.4);
}

/* A site tells the jaw; without one the entry's height does. */
Test(geometry, the_jaw_of_a_screw) {
    setup s;
    hf_geometry geometry;
    build(&s);
    s.screw.site = NULL;
    cr_assert(hf_geometry_of(&s.in, &arena, &geometry));
    cr_expect_eq(geometry.screws[0].jaw, HF_MAXILLA);
    s.screw.entry = at(-25.0, 30.0, -12.0);
    cr_assert(hf_geometry_of(&s.in, &arena, &geometry));
    cr_expect(geometry.screws[0].jaw == HF_MANDIBLE && geometry.jaw[HF_MANDIBLE] && geometry.jaw[HF_MAXILLA]);
}

Test(geometry, a_refused_case_has_none) {
    setup s;
    hf_geometry geometry;
    build(&s);
    s.bar.to = "nowhere";
    cr_expect_not(hf_geometry_of(&s.in, &arena, &geometry));
}
