#include "case_table.h"

#include "../../core/case.h"
#include "table.h"

HFD_INIT(hf_root, hf_root_default)
HFD_INIT(hf_tooth_in, hf_tooth_default)
HFD_INIT(hf_segment_in, hf_segment_default)

static const char *const rigid_names[] = {"rigid", NULL};
static const char *const wire_at_names[] = {"bracket", "palatal-attachment", "buccal-tube", NULL};

/* ---------------------------------------------------------------- points */

static const struct hfd_field palate_fields[] = {
    {"right_mm", HFD_FIELD_REAL, REQUIRED, AT(hf_point, right_mm), .limit = HF_LIMIT_OFFSET,
        .what = "to the patient's right of the midline"},
    {"behind_incisors_mm", HFD_FIELD_REAL, REQUIRED, AT(hf_point, behind_incisors_mm),
        .limit = HF_LIMIT_PALATE_DEPTH, .what = "behind the incisal edges of the upper central incisors"},
    {"clear_mm", HFD_FIELD_REAL, AT(hf_point, clear_mm), .limit = HF_LIMIT_OFFSET,
        .what = "off the bone into the mouth; left out: on the bone"},
};
static const struct hfd_table palate_table = {
    "a point on the palatal vault", HFD_FIELDS(palate_fields), .size = sizeof(hf_point)};

static const struct hfd_field vestibule_fields[] = {
    {"between", HFD_FIELD_TEETH, REQUIRED, AT(hf_point, between), .count = 2,
        .what = "two neighbouring teeth"},
    {"apical_mm", HFD_FIELD_REAL, REQUIRED, AT(hf_point, apical_mm), .limit = HF_LIMIT_OFFSET,
        .what = "from the bone crest towards the apices"},
    {"clear_mm", HFD_FIELD_REAL, AT(hf_point, clear_mm), .limit = HF_LIMIT_OFFSET,
        .what = "off the bone into the vestibule; left out: on the bone"},
};
static const struct hfd_table vestibule_table = {
    "a point on the buccal bone between two teeth", HFD_FIELDS(vestibule_fields), .size = sizeof(hf_point)};

static const struct hfd_field told_fields[] = {
    {"near", HFD_FIELD_TOOTH, HFD_FIELD_KEY, AT(hf_point, tooth), .choice = HFD_CHOICE(HF_POINT_NEAR),
        .what = "a tooth: the point is told from the centre of its crown"},
    {"mesial_mm", HFD_FIELD_REAL, AT(hf_point, mesial_mm), .limit = HF_LIMIT_OFFSET,
        .choice = HFD_CHOICE(HF_POINT_NEAR), .what = "towards mesial of the tooth"},
    {"buccal_mm", HFD_FIELD_REAL, AT(hf_point, buccal_mm), .limit = HF_LIMIT_OFFSET,
        .choice = HFD_CHOICE(HF_POINT_NEAR), .what = "towards buccal of the tooth"},
    {"occlusal_mm", HFD_FIELD_REAL, AT(hf_point, occlusal_mm), .limit = HF_LIMIT_OFFSET,
        .choice = HFD_CHOICE(HF_POINT_NEAR), .what = "towards occlusal of the tooth"},
    {"palate", HFD_FIELD_OBJECT, HFD_FIELD_KEY, .table = &palate_table, .choice = HFD_CHOICE(HF_POINT_PALATE),
        .what = "on the palatal vault"},
    {"vestibule", HFD_FIELD_OBJECT, HFD_FIELD_KEY, .table = &vestibule_table,
        .choice = HFD_CHOICE(HF_POINT_VESTIBULE), .what = "on the buccal bone between two teeth"},
};
static const struct hfd_table told_table = {"a point as the clinician tells it", HFD_FIELDS(told_fields),
    .size = sizeof(hf_point), .choose = true, .choice_at = offsetof(hf_point, kind)};

static const struct hfd_field point_fields[] = {
    {"xyz_mm", VEC3, AT(hf_point, xyz_mm), .limit = HF_LIMIT_COORDINATE, .choice = HFD_CHOICE(HF_POINT_XYZ),
        .what = "coordinates in the frame of the document"},
    {"told", HFD_FIELD_OBJECT, .table = &told_table, .what = "as the clinician tells it"},
};
const struct hfd_table hfd_point_table = {
    "a point", HFD_FIELDS(point_fields), .size = sizeof(hf_point), .choice_at = offsetof(hf_point, kind)};

/* ---------------------------------------------------------------- arches, teeth, segments */

static const struct hfd_field arch_fields[] = {
    {"width_mm", HFD_FIELD_REAL, AT(hf_arch, width_mm), .limit = HF_LIMIT_ARCH_WIDTH,
        .what = "between the buccal faces of the second molars"},
    {"depth_mm", HFD_FIELD_REAL, AT(hf_arch, depth_mm), .limit = HF_LIMIT_ARCH_DEPTH,
        .what = "from the incisors to the distal faces of the second molars"},
    {"centre_mm", VEC3, AT(hf_arch, centre_mm), .limit = HF_LIMIT_COORDINATE,
        .what = "that the jaw as a whole turns about; left out: a published place"},
    {"vault_height_mm", HFD_FIELD_REAL, AT(hf_arch, vault_height_mm), .limit = HF_LIMIT_VAULT_HEIGHT,
        .what = "height of the palatal vault over the occlusal plane"},
};
static const struct hfd_table maxilla_table = {
    "the upper arch", HFD_FIELDS(arch_fields), .size = sizeof(hf_arch)};
/* The same without the vault, which is the last row. */
static const struct hfd_table mandible_table = {
    "the lower arch", .fields = arch_fields, .count = 3, .size = sizeof(hf_arch)};

static const struct hfd_field arches_fields[] = {
    {"maxilla", HFD_FIELD_OBJECT, .at = HF_MAXILLA * sizeof(hf_arch), .table = &maxilla_table,
        .what = "upper arch"},
    {"mandible", HFD_FIELD_OBJECT, .at = HF_MANDIBLE * sizeof(hf_arch), .table = &mandible_table,
        .what = "lower arch"},
};
const struct hfd_table hfd_arches_table = {
    "the dental arches", HFD_FIELDS(arches_fields), .size = HF_JAW_COUNT * sizeof(hf_arch)};

static const struct hfd_field root_fields[] = {
    {"length_mm", HFD_FIELD_REAL, REQUIRED, AT(hf_root, length_mm), .limit = HF_LIMIT_ROOT_LENGTH,
        .what = "from the bone crest in health to the apex"},
    {"mesiodistal_mm", HFD_FIELD_REAL, REQUIRED, AT(hf_root, mesiodistal_mm), .limit = HF_LIMIT_ROOT_WIDTH,
        .what = "full mesiodistal width at the crest"},
    {"buccolingual_mm", HFD_FIELD_REAL, REQUIRED, AT(hf_root, buccolingual_mm), .limit = HF_LIMIT_ROOT_WIDTH,
        .what = "full buccolingual width at the crest"},
    {"exponent", HFD_FIELD_REAL, REQUIRED, AT(hf_root, exponent), .limit = HF_LIMIT_ROOT_EXPONENT,
        .what = "taper: 0.5 a paraboloid, 1 a cone"},
    {"offset_mm", VEC3, AT(hf_root, offset_mm), .limit = HF_LIMIT_OFFSET,
        .what = "mesial, buccal, coronal from the tooth's crest centre"},
};
static const struct hfd_table root_table = {
    "a root", HFD_FIELDS(root_fields), .size = sizeof(hf_root), .init = hf_root_init};

static const struct hfd_field roots_fields[] = {
    {"roots", LIST(hf_tooth_in, roots, root_count),
        .flags = HFD_FIELD_REQUIRED | HFD_FIELD_SEVERAL | HFD_FIELD_OMIT_EMPTY, .limit = HF_LIMIT_ROOTS,
        .table = &root_table, .what = "the roots one by one"},
};
static const struct hfd_table roots_table = {
    "several roots", HFD_FIELDS(roots_fields), .size = sizeof(hf_tooth_in)};

static const struct hfd_field either_root_fields[] = {
    {"several", HFD_FIELD_OBJECT, .when = "roots", .table = &roots_table, .what = "several roots"},
    {"one", LIST(hf_tooth_in, roots, root_count), .flags = HFD_FIELD_SINGLE, .limit = HF_LIMIT_ROOTS,
        .table = &root_table, .what = "a single root"},
};
static const struct hfd_table either_root_table = {
    "the root or roots", HFD_FIELDS(either_root_fields), .size = sizeof(hf_tooth_in)};

static const struct hfd_field ligament_fields[] = {
    {"thickness_mm", HFD_FIELD_REAL, AT(hf_ligament, thickness_mm), .limit = HF_LIMIT_LIGAMENT_THICKNESS,
        .what = "thickness of the ligament"},
    {"normal_modulus_mpa", HFD_FIELD_REAL, AT(hf_ligament, normal_modulus_mpa),
        .limit = HF_LIMIT_LIGAMENT_MODULUS, .what = "confined modulus across the ligament, M"},
    {"shear_modulus_mpa", HFD_FIELD_REAL, AT(hf_ligament, shear_modulus_mpa),
        .limit = HF_LIMIT_LIGAMENT_MODULUS, .what = "shear modulus of the ligament, G"},
};
static const struct hfd_table ligament_table = {
    "a ligament", HFD_FIELDS(ligament_fields), .size = sizeof(hf_ligament)};

static const struct hfd_field tooth_fields[] = {
    {"tooth", HFD_FIELD_TOOTH, REQUIRED, AT(hf_tooth_in, tooth), .what = "the tooth in ISO 3950"},
    {"crest_mm", VEC3, AT(hf_tooth_in, crest_mm), .limit = HF_LIMIT_COORDINATE,
        .what = "centre of the root at the bone crest in health"},
    {"root_axis", VEC3, AT(hf_tooth_in, root_axis), .limit = HF_LIMIT_DIRECTION,
        .what = "direction from the crest to the apex"},
    {"mesial_axis", VEC3, AT(hf_tooth_in, mesial_axis), .limit = HF_LIMIT_DIRECTION,
        .what = "direction to mesial"},
    {"bone_loss_mm", HFD_FIELD_REAL, AT(hf_tooth_in, bone_loss_mm), .limit = HF_LIMIT_BONE_LOSS,
        .what = "recorded loss of crest height"},
    {"root", HFD_FIELD_EITHER, .table = &either_root_table, .what = "one root, or {\"roots\": […]}"},
    {"ligament", HFD_FIELD_OBJECT, AT(hf_tooth_in, ligament), .table = &ligament_table,
        .what = "the periodontal ligament"},
};
const struct hfd_table hfd_tooth_table = {
    "a tooth", HFD_FIELDS(tooth_fields), .size = sizeof(hf_tooth_in), .init = hf_tooth_in_init};

static const struct hfd_field section_fields[] = {
    {"round_mm", HFD_FIELD_REAL, HFD_FIELD_KEY, AT(hf_section_in, round_mm), .limit = HF_LIMIT_BAR_SIZE,
        .choice = HFD_CHOICE(HF_SECTION_ROUND), .what = "diameter"},
    {"rectangle_mm", HFD_FIELD_REALS, HFD_FIELD_KEY, AT(hf_section_in, rectangle_mm), .count = 2,
        .limit = HF_LIMIT_BAR_SIZE, .choice = HFD_CHOICE(HF_SECTION_RECTANGLE), .what = "width, thickness"},
    {"wire_in", HFD_FIELD_REALS, HFD_FIELD_KEY, AT(hf_section_in, wire_in), .count = 2,
        .limit = HF_LIMIT_WIRE_SIZE, .choice = HFD_CHOICE(HF_SECTION_WIRE),
        .what = "thickness, width of a wire in inch"},
};
const struct hfd_table hfd_section_table = {"a cross-section", HFD_FIELDS(section_fields),
    .size = sizeof(hf_section_in), .choose = true, .choice_at = offsetof(hf_section_in, kind)};

static const struct hfd_field moduli_fields[] = {
    {"modulus_mpa", HFD_FIELD_REAL, REQUIRED, AT(hf_material_in, modulus_mpa), .limit = HF_LIMIT_MODULUS,
        .what = "elastic modulus"},
    {"poisson", HFD_FIELD_REAL, REQUIRED, AT(hf_material_in, poisson), .limit = HF_LIMIT_POISSON,
        .what = "Poisson's ratio"},
    {"yield_mpa", HFD_FIELD_REAL, AT(hf_material_in, yield_mpa), .limit = HF_LIMIT_YIELD,
        .what = "yield strength"},
};
static const struct hfd_table moduli_table = {
    "a material in numbers", HFD_FIELDS(moduli_fields), .size = sizeof(hf_material_in)};

static const struct hfd_field material_fields[] = {
    {"name", HFD_FIELD_TEXT, AT(hf_material_in, name), .what = "a material of the table"},
    {"numbers", HFD_FIELD_OBJECT, .table = &moduli_table, .what = "a material in numbers"},
};
const struct hfd_table hfd_material_table = {
    "a material", HFD_FIELDS(material_fields), .size = sizeof(hf_material_in)};

static const struct hfd_field wire_fields[] = {
    {"section", HFD_FIELD_OBJECT, REQUIRED, AT(hf_segment_in, wire_section), .table = &hfd_section_table,
        .what = "the wire's cross-section"},
    {"material", MATERIAL, REQUIRED, AT(hf_segment_in, wire_material), .what = "the wire's material"},
    {"at", HFD_FIELD_ENUM, AT(hf_segment_in, wire_at), .names = wire_at_names,
        .what = "where on each tooth the wire runs; left out: the bracket"},
};
static const struct hfd_table wire_table = {"a wire", HFD_FIELDS(wire_fields), .size = sizeof(hf_segment_in)};

static const struct hfd_field wired_fields[] = {
    {"wire", HFD_FIELD_OBJECT, REQUIRED, .table = &wire_table, .present_at = offsetof(hf_segment_in, wired),
        .what = "the wire that joins the teeth"},
};
static const struct hfd_table wired_table = {
    "how teeth are joined", HFD_FIELDS(wired_fields), .size = sizeof(hf_segment_in)};

static const struct hfd_field joined_fields[] = {
    {"wired", HFD_FIELD_OBJECT, .table = &wired_table, .what = "by a wire"},
    {"rigid", HFD_FIELD_WORD, .at = HFD_NOWHERE, .names = rigid_names, .what = "as one body"},
};
static const struct hfd_table joined_table = {
    "how teeth are joined", HFD_FIELDS(joined_fields), .size = sizeof(hf_segment_in)};

static const struct hfd_field segment_fields[] = {
    {"name", HFD_FIELD_TEXT, REQUIRED, AT(hf_segment_in, name), .what = "name of the segment"},
    {"teeth", LIST(hf_segment_in, teeth, tooth_count), REQUIRED, .item = HFD_FIELD_TOOTH,
        .limit = HF_LIMIT_TEETH, .what = "its teeth in ISO 3950"},
    {"joined", HFD_FIELD_EITHER, .table = &joined_table, .what = "\"rigid\" or by a wire"},
};
const struct hfd_table hfd_segment_table = {
    "a segment", HFD_FIELDS(segment_fields), .size = sizeof(hf_segment_in), .init = hf_segment_in_init};
