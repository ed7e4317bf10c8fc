#include <criterion/criterion.h>

#include <jansson.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include "../../../core/element.h"
#include "../../../core/findings.h"
#include "../../../server/json/answer_table.h"
#include "../../../server/json/canonical.h"
#include "../../../server/json/case_table.h"
#include "../../../server/json/decode.h"
#include "../../../server/json/document.h"
#include "../../../server/json/encode.h"
#include "../../../server/json/shapes.h"
#include "../../../server/json/units.h"

static hf_arena arena;
static struct hfd_errors errors;

static void set_up(void) {
    hf_arena_init(&arena, 0, 0);
    hfd_errors_init(&errors, &arena);
}
static void tear_down(void) {
    hf_arena_fini(&arena);
}

TestSuite(document, .init = set_up, .fini = tear_down);

/* Every kind of member once. */
static const char whole[] =
    "{\"frame\":\"occlusal-lps\",\"on\":\"2026-03-02\",\"arches\":{\"maxilla\":{\"width_mm\":58,\"depth_mm\":47,"
    "\"vault_height_mm\":16},\"mandible\":{\"width_mm\":54,\"depth_mm\":43}},"
    "\"teeth\":[{\"tooth\":\"16\",\"root\":{\"length_mm\":12,\"mesiodistal_mm\":8,\"buccolingual_mm\":9,\"exponent\":0.5,"
    "\"offset_mm\":[0,0,0]},\"ligament\":{\"thickness_mm\":0.2,\"shear_modulus_mpa\":0.1}},{\"tooth\":\"17\","
    "\"crest_mm\":[-27.4,43.1,6.2],\"root_axis\":[0.05,0.02,1],\"mesial_axis\":[0,-1,0],\"bone_loss_mm\":1,\"root\":{\"roots\":["
    "{\"length_mm\":12,\"mesiodistal_mm\":4,\"buccolingual_mm\":5,\"exponent\":1,\"offset_mm\":[2,0,0]},"
    "{\"length_mm\":11,\"mesiodistal_mm\":4,\"buccolingual_mm\":5,\"exponent\":1,\"offset_mm\":[-2,0,0]}]}}],"
    "\"segments\":[{\"name\":\"s\",\"teeth\":[\"16\",\"17\"],\"joined\":\"rigid\"},{\"name\":\"w\",\"teeth\":[\"26\"],"
    "\"joined\":{\"wire\":{\"section\":{\"wire_in\":[0.017,0.025]},\"material\":\"stainless-steel\",\"at\":\"bracket\"}}}],"
    "\"sites\":[{\"key\":\"own\",\"jaw\":\"mandible\",\"loss\":{\"low\":0.01,\"mid\":0.05,\"high\":0.2},\"cortex_mm\":2,"
    "\"cancellous_modulus_mpa\":900,\"torque_low_ncm\":5,\"torque_high_ncm\":12,\"source\":\"own count\"}],"
    "\"screws\":[{\"name\":\"A\",\"site\":\"own\",\"entry_mm\":[-4,22,14],\"axis\":[0,-0.26,-0.97],\"diameter_mm\":2,"
    "\"core_mm\":1.5,\"length_mm\":9,\"thread_pitch_mm\":0.8,\"tissue_mm\":1.5,\"stand_off_mm\":1,\"cortex_mm\":1.4,"
    "\"cortex_modulus_mpa\":13700,\"cancellous_modulus_mpa\":1000,\"modulus_mpa\":110000,\"poisson\":0.33,"
    "\"interface_factor\":1.5,\"placed_on\":\"2026-02-16\",\"insertion_torque_ncm\":18,\"root_distance_mm\":3,"
    "\"mucosa\":\"attached\",\"mobility_grade\":0,\"inflammation_grade\":1,\"predrilled\":true,"
    "\"placed_by\":{\"screws_placed_before\":12}},{\"name\":\"B\",\"entry_mm\":{\"vestibule\":{\"between\":[\"15\",\"16\"],"
    "\"apical_mm\":8}},\"axis\":\"perpendicular\",\"tilt_deg\":10,\"diameter_mm\":1.6,\"length_mm\":8}],"
    "\"plate\":{\"name\":\"p\",\"purpose\":\"intrusion\",\"material\":{\"modulus_mpa\":110000,\"poisson\":0.33,"
    "\"yield_mpa\":485},\"nodes\":[{\"name\":\"n1\",\"at_mm\":[-4,22,11.5],\"tissue_gap_mm\":1.2},{\"name\":\"n2\",\"at_mm\":"
    "{\"near\":\"16\",\"buccal_mm\":-12,\"occlusal_mm\":-4}},{\"name\":\"n3\",\"at_mm\":{\"palate\":{\"right_mm\":3,"
    "\"behind_incisors_mm\":22}}}],\"bars\":[{\"from\":\"n1\",\"to\":\"n2\",\"section\":{\"round_mm\":1.2}},{\"from\":\"n1\","
    "\"to\":\"n3\",\"section\":{\"rectangle_mm\":[3,1]},\"normal\":[0,0,1],\"material\":\"stainless-steel\"}],"
    "\"seats\":[{\"node\":\"n1\",\"screw\":\"A\"}],\"fittings\":[{\"node\":\"n2\",\"kind\":\"hook\"},{\"node\":\"n3\","
    "\"kind\":\"tube\",\"axis\":[0,1,0],\"slot_in\":[0.022,0.028]}]},"
    "\"elements\":[{\"name\":\"c\",\"kind\":\"chain\",\"from\":{\"fitting\":\"n2\"},\"to\":{\"tooth\":\"16\","
    "\"at\":\"palatal-attachment\",\"offset_mm\":[0,0,1]},\"force_n\":1.5,\"activated_on\":\"2026-02-16\",\"product\":\"memory\","
    "\"remaining_28d\":0.5},{\"name\":\"e\",\"kind\":\"extraoral-elastic\",\"from\":{\"segment\":\"s\",\"at_mm\":[-20,30,0]},"
    "\"to\":{\"fixed_mm\":[0,-40,-10],\"label\":\"mask\"},\"force_n\":3,\"renewed_daily\":false,\"hours_per_day\":12},"
    "{\"name\":\"a\",\"kind\":\"applied\",\"to\":{\"fitting\":\"n3\"},\"force_n\":[0,0,-1],\"moment_nmm\":[5,0,0]}],"
    "\"patient\":{\"age_years\":34.5,\"cigarettes_per_day\":3},\"horizon_days\":42}";

static hf_case decoded(const char *text) {
    hf_case out;
    const char *digest;
    cr_assert(hfd_document_decode(text, strlen(text), &arena, &errors, &out, &digest), "%s %s",
        errors.first ? errors.first->pointer : "", errors.first ? errors.first->detail : "");
    return out;
}

Test(document, reads_every_member) {
    hf_case in = decoded(whole);
    cr_expect_eq(in.on, 20514, "date -u -d 2026-03-02 +%%s / 86400");
    cr_expect(in.arches[HF_MAXILLA].vault_height_mm == 16 && in.arches[HF_MANDIBLE].width_mm == 54);
    cr_assert(in.tooth_count == 2 && in.teeth[0].root_count == 1 && in.teeth[1].root_count == 2);
    cr_expect(in.teeth[1].roots[1].offset_mm.x == -2 && in.teeth[1].root_axis.z == 1);
    cr_expect(
        isnan(in.teeth[0].ligament.normal_modulus_mpa) && in.teeth[0].ligament.shear_modulus_mpa == 0.1);
    cr_assert_eq(in.segment_count, 2);
    cr_expect(!in.segments[0].wired && in.segments[0].teeth[1] == 17);
    cr_expect(in.segments[1].wired && in.segments[1].wire_section.kind == HF_SECTION_WIRE);
    cr_expect(in.segments[1].wire_section.wire_in[1] == 0.025);
    cr_expect(
        in.sites[0].jaw == HF_MANDIBLE && in.sites[0].loss_high == 0.2 && in.sites[0].torque_high_ncm == 12);
    cr_assert_eq(in.screw_count, 2);
    cr_expect(in.screws[0].entry.kind == HF_POINT_XYZ && in.screws[0].entry.xyz_mm.y == 22);
    cr_expect(in.screws[0].placed_on == in.on - 14 && in.screws[0].mucosa == HF_MUCOSA_ATTACHED);
    cr_expect(in.screws[0].predrilled == 1 && in.screws[0].placed_by_count == 12);
    cr_expect(in.screws[1].entry.kind == HF_POINT_VESTIBULE && in.screws[1].entry.between[0] == 15);
    cr_expect(in.screws[1].axis_perpendicular && in.screws[1].tilt_deg == 10 && isnan(in.screws[1].core_mm));
    cr_expect(in.screws[1].mobility_grade == HF_ABSENT && in.screws[1].predrilled == HF_ABSENT);
    cr_assert_eq(in.plate_count, 1);
    const hf_plate_in *plate = in.plates;
    cr_expect(plate->material.name == NULL && plate->material.yield_mpa == 485);
    cr_expect(plate->nodes[1].at.kind == HF_POINT_NEAR && plate->nodes[1].at.tooth == 16);
    cr_expect(isnan(plate->nodes[1].at.mesial_mm) && plate->nodes[1].at.buccal_mm == -12);
    cr_expect(plate->nodes[2].at.kind == HF_POINT_PALATE && plate->nodes[2].at.right_mm == 3);
    cr_expect(plate->bars[1].section.kind == HF_SECTION_RECTANGLE && plate->bars[1].normal.z == 1);
    cr_expect_str_eq(plate->bars[1].material.name, "stainless-steel");
    cr_expect(plate->fittings[1].kind == HF_FITTING_TUBE && plate->fittings[1].slot_in[0] == 0.022);
    cr_assert_eq(in.element_count, 3);
    cr_expect(in.elements[0].to.kind == HF_END_TOOTH && in.elements[0].to.at == HF_AT_PALATAL);
    cr_expect(in.elements[0].force_n == 1.5 && !hf_vec3_is_given(in.elements[0].applied_force_n));
    cr_expect(in.elements[1].from.kind == HF_END_SEGMENT && in.elements[1].to.kind == HF_END_FIXED);
    cr_expect(in.elements[1].renewed_daily == 0 && in.elements[1].activated_on == HF_ABSENT);
    cr_expect(in.elements[2].kind == HF_ELEMENT_APPLIED && in.elements[2].from.kind == HF_END_NONE);
    cr_expect(isnan(in.elements[2].force_n) && in.elements[2].applied_force_n.z == -1);
    cr_expect(
        in.elements[2].applied_moment_nmm.x == 5 && in.horizon_days == 42 && in.patient.age_years == 34.5);
}

/* The tables write what they read: nothing is lost and nothing is put in another place. */
Test(document, what_was_read_is_written) {
    hf_case in = decoded(whole);
    struct hfd_buf buf;
    struct hfd_encoding how = {.as_given = true};
    hfd_buf_init(&buf, &arena, 16);
    hfd_encode_object(&buf, &hfd_case_table, &in, &how);
    json_t *expected = json_loads(whole, 0, NULL), *got = json_loads(buf.text, 0, NULL);
    cr_assert(expected && got, "%s", buf.text);
    struct hfd_buf a, b;
    hfd_buf_init(&a, &arena, 16);
    hfd_buf_init(&b, &arena, 16);
    hfd_canonical_write(&a, expected);
    hfd_canonical_write(&b, got);
    cr_expect_str_eq(b.text, a.text);
    json_decref(expected);
    json_decref(got);
}

Test(document, clinical_units) {
    hf_case in = decoded(
        "{\"frame\":\"occlusal-lps\",\"on\":\"2026-03-02\",\"screws\":[{\"name\":\"A\",\"entry_mm\":{\"value\":[0.1,2,1],"
        "\"unit\":\"cm\"},\"axis\":[0,0,1],\"diameter_mm\":2,\"length_mm\":{\"value\":0.9,\"unit\":\"cm\"},"
        "\"insertion_torque_ncm\":{\"value\":1.1,\"unit\":\"kgf.cm\"}}],\"elements\":[{\"name\":\"e\",\"kind\":\"chain\","
        "\"force_n\":{\"value\":150,\"unit\":\"gf\"}},{\"name\":\"f\",\"kind\":\"applied\",\"moment_nmm\":{\"value\":[800,0,0],"
        "\"unit\":\"gf.mm\"}}]}");
    /* 1 kgf = 9.80665 N by definition */
    cr_expect_float_eq(in.screws[0].insertion_torque_ncm, 10.787315, 1e-12);
    cr_expect_float_eq(in.elements[0].force_n, 1.4709975, 1e-14);
    cr_expect_float_eq(in.elements[1].applied_moment_nmm.x, 7.84532, 1e-14);
    cr_expect(in.screws[0].entry.xyz_mm.y == 20 && in.screws[0].length_mm == 9);
}

/* ---------------------------------------------------------------- refusals */

static const char head[] = "{\"frame\":\"occlusal-lps\",\"on\":\"2026-03-02\"";

/* `rest`: members after the head. Pointers in order, NULL-ended. */
static void refused(const char *rest, ...) {
    struct hfd_evaluation out;
    const char *text = hf_arena_printf(&arena, "%s%s}", head, rest);
    hfd_document_evaluate(text, strlen(text), true, HFD_ANSWER_WHOLE, &arena, &out);
    cr_assert_eq(out.kind, HFD_VALIDATION, "%s", text);
    va_list args;
    va_start(args, rest);
    const struct hfd_error *error = out.errors.first;
    const char *pointer;
    while ((pointer = va_arg(args, const char *)) != NULL) {
        cr_assert_not_null(error, "%s: nothing at %s", rest, pointer);
        cr_expect_str_eq(error->pointer, pointer, "%s: %s %s", rest, error->pointer, error->detail);
        error = error->next;
    }
    va_end(args);
    cr_expect_null(error, "%s: also %s %s", rest, error ? error->pointer : "", error ? error->detail : "");
}

Test(document, faults_are_told_where_they_stand) {
    refused(",\"frame2\":1", "/frame2", NULL);
    refused(",\"expected\":{},\"on_\":1", "/expected", "/on_", NULL);
    refused(",\"horizon_days\":0,\"patient\":{\"age\":3}", "/patient/age", "/horizon_days", NULL);
    refused(
        ",\"teeth\":[{\"tooth\":\"55\"},{\"tooth\":\"16\",\"root\":{\"roots\":[]}},{\"tooth\":\"17\",\"root\":{\"length_mm\":12}}]",
        "/teeth/0/tooth", "/teeth/1/root/roots", "/teeth/2/root/mesiodistal_mm",
        "/teeth/2/root/buccolingual_mm", "/teeth/2/root/exponent", NULL);
    refused(",\"arches\":{\"mandible\":{\"vault_height_mm\":10}}", "/arches/mandible/vault_height_mm", NULL);
    refused(",\"segments\":[{\"name\":\"s\",\"teeth\":[\"16\"],\"joined\":{\"wire\":{\"at\":\"crest\"}}}]",
        "/segments/0/joined/wire/section", "/segments/0/joined/wire/material", "/segments/0/joined/wire/at",
        NULL);
    refused(
        ",\"sites\":[{\"key\":\"k\",\"loss\":{\"low\":0.2,\"mid\":0.1,\"high\":0.3},\"torque_low_ncm\":4}]",
        "/sites/0/torque_low_ncm", "/sites/0/loss", NULL);
    refused(",\"sites\":[{\"key\":\"k\"},{\"key\":\"l\"},{\"key\":\"k\"}]", "/sites/2/key", NULL);
    refused(",\"plate\":{\"name\":\"p\",\"nodes\":[],\"seats\":[]},\"plates\":[]", "/plate", NULL);
}

Test(document, rules_of_screws) {
    refused(
        ",\"screws\":[{\"name\":\"A\",\"entry_mm\":[0,0,0],\"axis\":[0,0,1],\"tilt_deg\":5,\"diameter_mm\":0.7,\"length_mm\":9}]",
        "/screws/0/diameter_mm", "/screws/0/tilt_deg", NULL);
    refused(
        ",\"screws\":[{\"name\":\"A\",\"entry_mm\":{\"near\":\"16\",\"palate\":{}},\"axis\":\"up\",\"diameter_mm\":2,"
        "\"length_mm\":{\"value\":9,\"unit\":\"N\"},\"mobility_grade\":4}]",
        "/screws/0/entry_mm/palate", "/screws/0/axis", "/screws/0/length_mm/unit", "/screws/0/mobility_grade",
        NULL);
}

Test(document, rules_of_plates) {
    refused(
        ",\"plate\":{\"name\":\"p\",\"nodes\":[{\"name\":\"n\",\"at_mm\":[0,0]}],\"bars\":[{\"from\":\"n\",\"to\":\"m\","
        "\"section\":{\"round_mm\":1,\"wire_in\":[0.017,0.025]}}],\"seats\":[{\"node\":\"n\"}],"
        "\"fittings\":[{\"node\":\"n\",\"kind\":\"hook\",\"axis\":[0,0,1],\"slot_in\":[0.022,0.028]}]}",
        "/plate/nodes/0/at_mm", "/plate/bars/0/section/wire_in", "/plate/seats/0/screw",
        "/plate/fittings/0/axis", "/plate/fittings/0/slot_in", NULL);
}

Test(document, rules_of_elements) {
    refused(",\"elements\":[{\"name\":\"e\",\"kind\":\"open coil\"}]", "/elements/0/kind", NULL);
    refused(
        ",\"elements\":[{\"name\":\"e\",\"kind\":\"tie\",\"wire\":{\"section\":{\"round_mm\":0.9},\"material\":\"w\"},"
        "\"length_mm\":20,\"helix_mm\":1,\"activation_mm\":2,\"pull\":[0,0,1],\"reading_after_s\":10}]",
        "/elements/0/reading_after_s", "/elements/0/wire", "/elements/0/length_mm", "/elements/0/helix_mm",
        "/elements/0/activation_mm", "/elements/0/pull", NULL);
    refused(
        ",\"elements\":[{\"name\":\"e\",\"kind\":\"chain\",\"force_n\":[1,0,0],\"moment_nmm\":[1,0,0]},"
        "{\"name\":\"f\",\"kind\":\"applied\",\"force_n\":1},{\"name\":\"g\",\"kind\":\"rigid-bar\",\"force_n\":1},"
        "{\"name\":\"h\",\"kind\":\"elastic\",\"force_n\":20.5,\"from\":{\"tooth\":\"16\",\"fitting\":\"n\"},\"to\":{\"at\":\"crest\"}}]",
        "/elements/0/force_n", "/elements/0/moment_nmm", "/elements/1/force_n", "/elements/2/force_n",
        "/elements/3/from/tooth", "/elements/3/to", "/elements/3/force_n", NULL);
}

/* What the core refuses comes with the pointers of the document as it was told. */
#define PLATE                                                                                                \
    "{\"name\":\"p\",\"material\":\"cheese\",\"nodes\":[{\"name\":\"n\",\"at_mm\":[0,20,10]}],\"seats\":[{\"node\":\"n\",\"screw\":\"A\"}]}"
#define SCREW                                                                                                \
    ",\"screws\":[{\"name\":\"A\",\"entry_mm\":[0,20,14],\"axis\":[0,0,-1],\"diameter_mm\":2,\"length_mm\":9}]"

Test(document, problems_of_the_core) {
    refused(SCREW ",\"plate\":" PLATE, "/plate/material", NULL);
    refused(SCREW ",\"plates\":[" PLATE "]", "/plates/0/material", NULL);
}

Test(document, malformed) {
    static const struct {
        const char *text, *detail;
    } rows[] = {
        {"{\"frame\":\"occlusal-lps\",\n\"frame\":\"occlusal-lps\"}",
            "line 2, column 1: duplicate object key"},
        {"{\"on\":NaN}", "line 1"},
        {"{\"horizon_days\":1e999}", "line 1"},
        {"", "line 1"},
        {"{}{}", "line 1"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct hfd_evaluation out;
        hfd_document_evaluate(rows[i].text, strlen(rows[i].text), true, HFD_ANSWER_WHOLE, &arena, &out);
        cr_expect_eq(out.kind, HFD_MALFORMED_JSON);
        cr_expect_eq(strncmp(out.detail, rows[i].detail, strlen(rows[i].detail)), 0, "%s", out.detail);
        cr_expect_null(out.body);
    }
}

/* ---------------------------------------------------------------- answers */

static json_t *answered(const char *text, enum hfd_answer_part part) {
    struct hfd_evaluation out;
    hfd_document_evaluate(text, strlen(text), true, part, &arena, &out);
    cr_assert_eq(out.kind, HFD_OK, "%s %s", out.errors.first ? out.errors.first->pointer : out.detail,
        out.errors.first ? out.errors.first->detail : "");
    cr_assert_eq(out.body_len, strlen(out.body));
    json_t *json = json_loads(out.body, JSON_REJECT_DUPLICATES, NULL);
    cr_assert_not_null(json);
    return json;
}

static void expect_members(json_t *json, const char *expected) {
    struct hfd_buf buf;
    hfd_buf_init(&buf, &arena, 64);
    const char *name;
    json_t *value;
    json_object_foreach(json, name, value) hfd_buf_printf(&buf, " %s", name);
    cr_expect_str_eq(buf.text, expected);
}

#define PULL(force)                                                                                                                       \
    "{\"frame\":\"occlusal-lps\",\"on\":\"2026-03-02\",\"segments\":[{\"name\":\"s\",\"teeth\":[\"16\"]}],\"elements\":[{\"name\":\"e\"," \
    "\"kind\":\"elastic\",\"from\":{\"tooth\":\"16\"},\"to\":{\"fixed_mm\":[-20,-40,0],\"label\":\"mask\"},\"force_n\":" force            \
    "}]}"

Test(document, members_of_an_answer) {
    json_t *json = answered(PULL("1"), HFD_ANSWER_WHOLE);
    expect_members(json,
        " model digest on elements segments plates screws equilibrium stability findings assumed sources notice");
    expect_members(json_object_get(json, "model"), " core parameters");
    cr_expect_str_eq(json_string_value(json_object_get(json, "on")), "2026-03-02");
    cr_expect_eq(strncmp(json_string_value(json_object_get(json, "digest")), "sha256:", 7), 0);
    json_decref(json);
    json = answered(PULL("1"), HFD_ANSWER_STABILITY);
    expect_members(json, " model digest on stability uncertainty findings assumed sources notice");
    json_decref(json);
}

/* A force in gf is the same force in N. */
Test(document, same_answer_in_any_unit) {
    json_t *newton = answered(PULL("0.980665"), HFD_ANSWER_WHOLE);
    json_t *gram = answered(PULL("{\"value\":100,\"unit\":\"gf\"}"), HFD_ANSWER_WHOLE);
    cr_expect(json_equal(json_object_get(newton, "segments"), json_object_get(gram, "segments")));
    cr_expect(json_equal(json_object_get(newton, "elements"), json_object_get(gram, "elements")));
    json_decref(newton);
    json_decref(gram);
}

Test(document, assumptions_speak_of_the_plate_as_it_was_told) {
    static const char form[] =
        "{\"frame\":\"occlusal-lps\",\"on\":\"2026-03-02\",\"screws\":[{\"name\":\"A\",\"entry_mm\":[0,20,14],\"axis\":[0,0,-1],"
        "\"diameter_mm\":2,\"length_mm\":9}],%s{\"name\":\"p\",\"nodes\":[{\"name\":\"n\",\"at_mm\":[0,20,12]}],"
        "\"seats\":[{\"node\":\"n\",\"screw\":\"A\"}]}%s}";
    static const char *const rows[][3] = {
        {"\"plate\":", "", "/plate/material"}, {"\"plates\":[", "]", "/plates/0/material"}};
    for (size_t r = 0; r < 2; r++) {
        char text[1024];
        snprintf(text, sizeof text, form, rows[r][0], rows[r][1]);
        json_t *json = answered(text, HFD_ANSWER_WHOLE);
        bool found = false;
        size_t i;
        json_t *item;
        json_array_foreach(json_object_get(json, "assumed"), i, item) found |=
            strcmp(json_string_value(json_object_get(item, "pointer")), rows[r][2]) == 0;
        cr_expect(found, "%s", rows[r][2]);
        json_decref(json);
    }
}

Test(document, variants) {
    json_t *both = answered("{\"variants\":[" PULL("1") "," PULL("2") "]}", HFD_ANSWER_WHOLE);
    json_t *list = json_object_get(both, "variants");
    cr_assert_eq(json_array_size(list), 2);
    json_t *second = answered(PULL("2"), HFD_ANSWER_WHOLE);
    cr_expect(json_equal(json_array_get(list, 1), second));
    cr_expect(!json_equal(json_array_get(list, 0), second));
    json_decref(both);
    json_decref(second);
}

static struct hfd_evaluation evaluated(const char *text, bool variants) {
    struct hfd_evaluation out;
    hfd_document_evaluate(text, strlen(text), variants, HFD_ANSWER_WHOLE, &arena, &out);
    return out;
}

Test(document, one_bad_variant_refuses_all) {
    struct hfd_evaluation out =
        evaluated("{\"variants\":[" PULL("1") ",{\"on\":1},[]," PULL("21") "]}", true);
    static const char *const pointers[] = {
        "/variants/1/frame", "/variants/1/on", "/variants/2", "/variants/3/elements/0/force_n"};
    cr_assert(out.kind == HFD_VALIDATION && out.errors.count == 4);
    const struct hfd_error *error = out.errors.first;
    for (size_t i = 0; i < 4; i++, error = error->next)
        cr_expect_str_eq(error->pointer, pointers[i]);
    /* what only the core can see */
    out =
        evaluated("{\"variants\":[" PULL(
                      "1") ",{\"frame\":\"occlusal-lps\",\"on\":\"2026-03-02\",\"elements\":[{\"name\":\"e\","
                           "\"kind\":\"tie\",\"from\":{\"fitting\":\"x\"},\"to\":{\"tooth\":\"16\"}}]}]}",
            true);
    cr_assert_eq(out.kind, HFD_VALIDATION);
    cr_expect_str_eq(out.errors.first->pointer, "/variants/1/elements/0/from/fitting");
}

Test(document, form_of_variants) {
    static const char *const bad[] = {"{\"variants\":[]}", "{\"variants\":{}}", "{\"variants\":null}"};
    for (size_t i = 0; i < 3; i++) {
        struct hfd_evaluation out = evaluated(bad[i], true);
        cr_assert_eq(out.kind, HFD_VALIDATION, "%s", bad[i]);
        cr_expect_str_eq(out.errors.first->pointer, "/variants");
    }
    struct hfd_evaluation out = evaluated("{\"variants\":[" PULL("1") "],\"on\":\"2026-03-02\"}", true);
    cr_expect_str_eq(out.errors.first->pointer, "/on");
    out = evaluated("{\"variants\":[" PULL("1") "]}", false);
    cr_expect_eq(out.kind, HFD_VALIDATION);
    struct hfd_buf buf;
    hfd_buf_init(&buf, &arena, 64);
    hfd_buf_text(&buf, "{\"variants\":[0");
    for (int i = 0; i < 64; i++)
        hfd_buf_text(&buf, ",0");
    hfd_buf_text(&buf, "]}");
    out = evaluated(buf.text, true);
    cr_expect_eq(out.errors.count, 1);
}

/* A megabyte of faults: counted, not told, and not paid for. Told, each would take a kilobyte or more. */
Test(document, flood_of_faults) {
    struct hfd_buf buf;
    hfd_buf_init(&buf, &arena, 1 << 20);
    hfd_buf_text(&buf, head);
    for (int i = 0; i < 100000; i++)
        hfd_buf_printf(&buf, ",\"m%d\":0", i);
    hfd_buf_char(&buf, '}');
    hf_arena small;
    hf_arena_init(&small, 0, 64 << 20); /* ends the program when it is not enough */
    struct hfd_evaluation out;
    hfd_document_evaluate(buf.text, buf.length, true, HFD_ANSWER_WHOLE, &small, &out);
    cr_expect(out.kind == HFD_VALIDATION && out.errors.count == 100000);
    hf_arena_fini(&small);
}

static void ran_out(void *jump_buffer) {
    longjmp(*(jmp_buf *)jump_buffer, 1);
}

static bool runs_out(hf_arena *small) {
    jmp_buf out;
    small->exhausted = ran_out;
    small->ctx = &out;
    if (setjmp(out) != 0) return small->exhausted == ran_out && small->ctx == &out;
    struct hfd_evaluation evaluation;
    hfd_document_evaluate(PULL("1"), strlen(PULL("1")), true, HFD_ANSWER_WHOLE, small, &evaluation);
    return false;
}

/* The arena's end in the middle of the work leaves nothing behind (the leak checker looks) and goes to its
 * owner. */
Test(document, arena_runs_out) {
    for (size_t limit = 2048; limit < 20000; limit += 1024) {
        hf_arena small;
        hf_arena_init(&small, 256, limit);
        cr_expect(runs_out(&small), "%zu bytes", limit);
        hf_arena_fini(&small);
    }
}

/* 60 nodes to a plate, 120 in all. */
Test(document, size_of_plates) {
    struct hfd_buf plate, text;
    hfd_buf_init(&plate, &arena, 8192);
    hfd_buf_init(&text, &arena, 32768);
    for (int i = 0; i < 50; i++)
        hfd_buf_printf(&plate, "%s{\"name\":\"n\",\"at_mm\":[0,0,%d]}", i ? "," : "", i);
    for (int i = 0; i < 3; i++)
        hfd_buf_printf(
            &text, "%s{\"name\":\"p\",\"nodes\":[%s],\"seats\":[]}", i ? "," : ",\"plates\":[", plate.text);
    hfd_buf_char(&text, ']');
    refused(text.text, "/plates", NULL);
    refused(hf_arena_printf(
                &arena, ",\"plate\":{\"name\":\"p\",\"nodes\":[%s,%s],\"seats\":[]}", plate.text, plate.text),
        "/plate/nodes", NULL);
}

/* What the model does not answer is left out, never 0 and never null. */
Test(document, not_answered_is_left_out) {
    hf_view_out still = {.centre_of_resistance_mm = {1, 2},
        .force_n = 0,
        .moment_to_force_mm = NAN,
        .sigma2_mm2 = NAN,
        .centre_of_rotation_mm = {NAN, NAN}};
    hf_segment_out segment = {.name = "s",
        .centre_of_resistance_mm = {1, 2, 3},
        .centre_radius_mm = NAN,
        .views = {still, still, still},
        .mean_kpa = NAN,
        .peak_kpa = NAN,
        .expected = {NAN, NAN, NAN},
        .apart = NAN};
    hf_head_load load = {.cortex_radial_mpa = NAN,
        .cortex_von_mises_mpa = NAN,
        .cortex_peak_mpa = NAN,
        .cortex_of_limit = NAN,
        .strain_microstrain = NAN,
        .removal_ratio = NAN,
        .pull_out_ratio = 0.5,
        .core_torsion_ratio = INFINITY};
    hf_screw_out screw = {.name = "A",
        .load = load,
        .peak = load,
        .sharing = {{NAN, NAN}, {NAN, NAN}, {NAN, NAN}, {NAN, NAN}},
        .head_displacement_mm = {0.003, 0, -0.004},
        .limits = {NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN},
        .insertion_torque_ncm = NAN,
        .loss = {NAN, NAN, NAN}};
    hf_plate_load stress = {.peak_stress_mpa = NAN, .yield_ratio = NAN};
    hf_plate_out plate = {.name = "p", .load = stress, .peak = stress, .least_gap_mm = NAN};
    struct hfd_answer_view view = {.core = "c",
        .parameters = "p",
        .digest = "d",
        .answer = {.on = 0,
            .segments = &segment,
            .segment_count = 1,
            .screws = &screw,
            .screw_count = 1,
            .plates = &plate,
            .plate_count = 1,
            .force_residual_n = 3e-15,
            .horizon_days = 42,
            .notice = "n"}};
    struct hfd_buf buf;
    struct hfd_encoding how = {0};
    hfd_buf_init(&buf, &arena, 64);
    hfd_encode_object(&buf, &hfd_answer_table, &view, &how);
    static const char view_text[] = "{\"centre_of_resistance_mm\":[1,2],\"force_n\":0}";
    const char *expected = hf_arena_printf(&arena,
        "{\"model\":{\"core\":\"c\",\"parameters\":\"p\"},\"digest\":\"d\",\"on\":\"1970-01-01\",\"elements\":[],\"segments\":["
        "{\"name\":\"s\",\"teeth\":[],\"centre_of_resistance_mm\":[1,2,3],\"force_n\":[0,0,0],\"moment_nmm\":[0,0,0],"
        "\"local\":{\"mesial_n\":0,\"buccal_n\":0,\"occlusal_n\":0,\"tip_nmm\":0,\"torque_nmm\":0,\"rotation_nmm\":0},"
        "\"views\":{\"frontal\":%s,\"sagittal\":%s,\"occlusal\":%s},"
        "\"initial\":{\"translation_um\":[0,0,0],\"rotation_mdeg\":[0,0,0]},\"teeth_movement\":[]}],"
        "\"plates\":[{\"name\":\"p\",\"fittings\":[]}],"
        "\"screws\":[{\"name\":\"A\",\"head_mm\":[0,0,0],\"head\":{\"force_n\":[0,0,0],\"moment_nmm\":[0,0,0]},\"axial_n\":0,"
        "\"lateral_n\":0,\"bending_at_bone_nmm\":0,\"axis_moment_nmm\":0,\"unscrewing\":false,\"capacity\":{\"pull_out\":0.5},"
        "\"peak\":{\"force_n\":[0,0,0],\"moment_nmm\":[0,0,0],\"axial_n\":0,\"lateral_n\":0,\"bending_at_bone_nmm\":0,"
        "\"axis_moment_nmm\":0,\"capacity\":{\"pull_out\":0.5}},"
        "\"head_displacement_um\":5}],\"equilibrium\":{\"force_residual_n\":0,\"moment_residual_nmm\":0},"
        "\"stability\":{\"horizon_days\":42,\"screws\":[{\"name\":\"A\",\"because\":[]}]},\"findings\":[],\"assumed\":[],"
        "\"sources\":{},\"notice\":\"n\"}",
        view_text, view_text, view_text);
    cr_expect_str_eq(buf.text, expected);
}
