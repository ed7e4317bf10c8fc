/* Asks the core's models one at a time, so that a published case of a model needs no C:
 *     ask FILE    {"model": "section", …}    or several    {"model": "section", "variants": [{…}, …]}
 * The answer goes to stdout. A member that the model does not know is refused. Exit code 0, or 2 with the
 * fault on stderr. Vectors are [x, y, z]; a number that the model does not give is null. */
#include "ask.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "../../core/element.h"
#include "../../core/odds.h"
#include "../../core/screw.h"
#include "../../core/segment.h"
#include "../../core/stability.h"

_Noreturn void ask_refuse(const char *what, const char *detail) {
    fprintf(stderr, "ask: %s: %s\n", what, detail);
    exit(2);
}

/* json_unpack; every member of `in` must be asked for. */
void ask_take(json_t *in, const char *format, ...) {
    json_error_t error;
    va_list list;
    va_start(list, format);
    int wrong = json_vunpack_ex(in, &error, JSON_STRICT, format, list);
    va_end(list);
    if (wrong) ask_refuse("input", error.text);
}

json_t *ask_number(double x) {
    return isfinite(x) ? json_real(x) : json_null();
}

json_t *ask_vector(hf_vec3 v) {
    return json_pack("[o,o,o]", ask_number(v.x), ask_number(v.y), ask_number(v.z));
}

static json_t *matrix(const hf_mat6 *k) {
    json_t *rows = json_array();
    for (int i = 0; i < 6; i++) {
        json_t *row = json_array();
        for (int j = 0; j < 6; j++) {
            json_array_append_new(row, ask_number(k->m[i][j]));
        }
        json_array_append_new(rows, row);
    }
    return rows;
}

/* ---- sections and bars */

hf_section ask_section(json_t *in, double poisson) {
    hf_section_in s = {HF_SECTION_NONE, NAN, {NAN, NAN}, {NAN, NAN}};
    ask_take(in, "{s?F, s?[FF!], s?[FF!]}", "round_mm", &s.round_mm, "rectangle_mm", &s.rectangle_mm[0],
        &s.rectangle_mm[1], "wire_in", &s.wire_in[0], &s.wire_in[1]);
    if (!isnan(s.round_mm)) s.kind = HF_SECTION_ROUND;
    if (!isnan(s.rectangle_mm[0])) s.kind = HF_SECTION_RECTANGLE;
    if (!isnan(s.wire_in[0])) s.kind = HF_SECTION_WIRE;
    if (s.kind == HF_SECTION_NONE) ask_refuse("section", "needs round_mm, rectangle_mm or wire_in");
    return hf_section_of(&s, poisson);
}

static json_t *section(json_t *in) {
    json_t *told;
    double poisson = 0.3;
    ask_take(in, "{s:o, s?F}", "section", &told, "poisson", &poisson);
    hf_section s = ask_section(told, poisson);
    return json_pack("{s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f}", "area_mm2", s.area_mm2, "iy_mm4",
        s.iy_mm4, "iz_mm4", s.iz_mm4, "j_mm4", s.j_mm4, "shear_y_mm2", s.shear_y_mm2, "shear_z_mm2",
        s.shear_z_mm2, "zy_mm3", s.zy_mm3, "zz_mm3", s.zz_mm3, "torsion_mm3", s.torsion_mm3);
}

/* Of a rectangle a by b: J/(a b^3) and T/(tau a b^2). */
static json_t *torsion_constant(json_t *in) {
    double ratio;
    ask_take(in, "{s:F}", "a_by_b", &ratio);
    hf_section s = hf_section_of(&(hf_section_in){HF_SECTION_RECTANGLE, NAN, {ratio, 1.0}, {NAN, NAN}}, 0.3);
    return json_pack("{s:f, s:f}", "stiffness", s.j_mm4 / ratio, "strength", s.torsion_mm3 / ratio);
}

static json_t *bar_stress(json_t *in) {
    json_t *told;
    double axial = 0.0, torque = 0.0, my = 0.0, mz = 0.0;
    ask_take(in, "{s:o, s?F, s?F, s?F, s?F}", "section", &told, "axial_n", &axial, "torque_nmm", &torque,
        "my_nmm", &my, "mz_nmm", &mz);
    hf_section s = ask_section(told, 0.3);
    return json_pack("{s:f}", "von_mises_mpa", hf_section_stress(&s, axial, torque, my, mz));
}

/* A cantilever under a load on its end, across the thickness or, edgewise, across the width. */
static json_t *arm(json_t *in) {
    json_t *told;
    double length, modulus, yield = NAN;
    int edgewise = 0;
    ask_take(in, "{s:o, s:F, s:F, s?F, s?b}", "section", &told, "length_mm", &length, "modulus_mpa", &modulus,
        "yield_mpa", &yield, "edgewise", &edgewise);
    const hf_vec3 wall = {0.0, 0.0, 0.0}, end = {length, 0.0, 0.0}, normal = {0.0, 0.0, 1.0};
    const hf_frame_body bodies[] = {{wall, true}, {end, false}};
    const hf_frame_bar bar = {.i = {0, wall},
        .j = {1, end},
        .section = ask_section(told, 0.3),
        .modulus_mpa = modulus,
        .poisson = 0.3,
        .normal = normal,
        .without_shear = true};
    const hf_frame_load one = {{1, end}, {{0.0, edgewise, !edgewise}, {0.0, 0.0, 0.0}}};
    const hf_frame frame = {bodies, 2, &bar, 1, NULL, 0, &one, 1};
    hf_arena arena;
    hf_arena_init(&arena, 4096, 0);
    hf_frame_result result;
    size_t culprit;
    if (hf_frame_solve(&frame, &arena, &result, &culprit) != HF_FRAME_OK)
        ask_refuse("arm", "nothing holds it");
    double give = hf_dot(result.bodies[1].shift, one.load.force);
    const double *at_wall = result.bars[0].end;
    double stress = hf_section_stress(&bar.section, at_wall[0], at_wall[3], at_wall[4], at_wall[5]);
    hf_arena_fini(&arena);
    return json_pack("{s:f, s:o}", "stiffness_n_per_mm", 1.0 / give, "yield_n", ask_number(yield / stress));
}

/* ---- force elements */

static json_t *retained(json_t *in) {
    const char *kind;
    double days;
    hf_element_in e = hf_element_default();
    int renewed = 1;
    ask_take(in, "{s:s, s?s, s?F, s?b, s:F}", "kind", &kind, "product", &e.product, "remaining_28d",
        &e.remaining_28d, "renewed_daily", &renewed, "days", &days);
    e.renewed_daily = renewed;
    int k = 0;
    while (k < HF_ELEMENT_COUNT && strcmp(hf_element_traits[k].name, kind) != 0) {
        k++;
    }
    if (k == HF_ELEMENT_COUNT) ask_refuse("kind", kind);
    e.kind = (hf_element_kind)k;
    if (hf_element_product_error(e.kind, e.product)) ask_refuse("product", e.product);
    const char *const *basis;
    return json_pack("{s:f}", "share", hf_element_retained(&e, days, &basis));
}

/* ---- screws */

static hf_screw take_screw(json_t *in) {
    hf_screw s = {.diameter_mm = NAN, .thread_pitch_mm = NAN, .interface_factor = 1.0};
    ask_take(in, "{s?F, s:F, s:F, s?F, s:F, s:F, s:F, s:F, s:F, s:F, s?F}", "diameter_mm", &s.diameter_mm,
        "core_mm", &s.core_mm, "length_mm", &s.length_mm, "thread_pitch_mm", &s.thread_pitch_mm, "neck_mm",
        &s.neck_mm, "cortex_mm", &s.cortex_mm, "cortex_modulus_mpa", &s.cortex_modulus_mpa,
        "cancellous_modulus_mpa", &s.cancellous_modulus_mpa, "modulus_mpa", &s.modulus_mpa, "poisson",
        &s.poisson, "interface_factor", &s.interface_factor);
    return s;
}

static json_t *screw_compliance(json_t *in) {
    json_t *told;
    ask_take(in, "{s:o}", "screw", &told);
    hf_screw s = take_screw(told);
    hf_screw_compliance c = hf_screw_compliance_of(&s);
    return json_pack("{s:f, s:f, s:f, s:f, s:f}", "shift_by_force", c.u_f, "shift_by_moment", c.u_m,
        "turn_by_moment", c.th_m, "axial", c.w_n, "turn_by_torque", c.phi_t);
}

static json_t *screw_stiffness(json_t *in) {
    json_t *told;
    ask_take(in, "{s:o}", "screw", &told);
    hf_screw s = take_screw(told);
    hf_screw_compliance c = hf_screw_compliance_of(&s);
    hf_mat6 k = hf_screw_stiffness(&c);
    return json_pack("{s:o}", "k", matrix(&k));
}

static json_t *cortex(json_t *in) {
    json_t *told;
    hf_wrench head = {{0.0, 0.0, 0.0}, {0.0, 0.0, 0.0}};
    ask_take(in, "{s:o, s:" VEC3 ", s?" VEC3 "}", "screw", &told, "force_n", &head.force.x, &head.force.y,
        &head.force.z, "moment_nmm", &head.moment.x, &head.moment.y, &head.moment.z);
    hf_screw s = take_screw(told);
    hf_cortex c = hf_screw_cortex(&s, head);
    return json_pack("{s:f, s:f, s:f, s:o}", "radial_mpa", c.radial_mpa, "von_mises_mpa", c.von_mises_mpa,
        "strain", c.strain, "moment_at_bone_nmm", ask_vector(hf_screw_moment_at_bone(&s, head)));
}

static json_t *thread_factor(json_t *in) {
    double major, minor, pitch;
    ask_take(in, "{s:F, s:F, s:F}", "diameter_mm", &major, "core_mm", &minor, "thread_pitch_mm", &pitch);
    return json_pack("{s:f}", "factor", hf_screw_thread_factor(major, minor, pitch));
}

static json_t *pull_out(json_t *in) {
    hf_screw s = {0};
    ask_take(in, "{s:F, s:F, s:F, s:F, s:F}", "diameter_mm", &s.diameter_mm, "core_mm", &s.core_mm,
        "thread_pitch_mm", &s.thread_pitch_mm, "length_mm", &s.length_mm, "cortex_mm", &s.cortex_mm);
    return json_pack("{s:f}", "force_n", hf_screw_pull_out(&s));
}

static json_t *core_torsion(json_t *in) {
    double core, strength;
    int plastic;
    ask_take(in, "{s:F, s:F, s:b}", "core_mm", &core, "shear_strength_mpa", &strength, "plastic", &plastic);
    return json_pack("{s:f}", "torque_nmm", hf_screw_core_torsion(core, strength, plastic));
}

/* ---- teeth: axes x mesial, y buccal, z coronal from the crest's centre */

/* In answer: what one root or tooth does under {"at_mm", "force_n", "moment_nmm"}. */
static void add_movement(json_t *answer, const hf_mat6 *k, json_t *told) {
    hf_vec3 at, none = {0.0, 0.0, 0.0};
    hf_wrench load = {none, none};
    hf_twist twist;
    if (!told) return;
    ask_take(told, "{s:" VEC3 ", s?" VEC3 ", s?" VEC3 "}", "at_mm", &at.x, &at.y, &at.z, "force_n",
        &load.force.x, &load.force.y, &load.force.z, "moment_nmm", &load.moment.x, &load.moment.y,
        &load.moment.z);
    if (!hf_mat6_solve(k, hf_wrench_move(load, at, none), &twist))
        ask_refuse("load", "nothing holds the root");
    twist = hf_twist_move(twist, none, at);
    json_object_set_new(answer, "shift_mm", ask_vector(twist.shift));
    json_object_set_new(answer, "turn_rad", ask_vector(twist.turn));
}

/* Depth below the crest at which a force does not turn, and sigma^2 there for a force across and one along
 * the root. */
static json_t *centre(double shift, double cross, double turn, double along) {
    double depth = fabs(cross) / shift;
    double about = turn - depth * depth * shift;
    return json_pack(
        "{s:f, s:f, s:f}", "depth_mm", depth, "sigma2_mm2", about / shift, "axial_sigma2_mm2", about / along);
}

static json_t *root(json_t *in) {
    json_t *load = NULL;
    hf_root r = hf_root_default();
    hf_ligament l;
    double loss = 0.0, area;
    ask_take(in, "{s:{s:F, s:F, s:F, s:F}, s:{s:F, s:F, s:F}, s?F, s?o}", "root", "length_mm", &r.length_mm,
        "mesiodistal_mm", &r.mesiodistal_mm, "buccolingual_mm", &r.buccolingual_mm, "exponent", &r.exponent,
        "ligament", "thickness_mm", &l.thickness_mm, "normal_modulus_mpa", &l.normal_modulus_mpa,
        "shear_modulus_mpa", &l.shear_modulus_mpa, "bone_loss_mm", &loss, "load", &load);
    hf_mat6 k = hf_root_stiffness(&r, loss, &l, &area);
    json_t *answer = json_pack("{s:f, s:o, s:o, s:o}", "area_mm2", area, "k", matrix(&k), "mesiodistal",
        centre(k.m[0][0], k.m[0][4], k.m[4][4], k.m[2][2]), "buccolingual",
        centre(k.m[1][1], k.m[1][3], k.m[3][3], k.m[2][2]));
    add_movement(answer, &k, load);
    return answer;
}

static json_t *tooth(json_t *in) {
    json_t *load = NULL;
    hf_tooth_in told = hf_tooth_default();
    ask_take(in, "{s:i, s?F, s?o}", "tooth", &told.tooth, "bone_loss_mm", &told.bone_loss_mm, "load", &load);
    if (!hf_tooth_is_permanent(told.tooth)) ask_refuse("tooth", "is no permanent tooth");
    hf_tooth_place place = {.tooth = told.tooth,
        .mesial = {1.0, 0.0, 0.0},
        .buccal = {0.0, 1.0, 0.0},
        .coronal = {0.0, 0.0, 1.0}};
    hf_tooth t;
    hf_tooth_of(&told, &place, &t);
    const hf_tooth *alone = &t;
    hf_segment s;
    hf_segment_of("tooth", &alone, 1, &s);
    json_t *answer = json_pack("{s:f, s:o, s:o, s:o, s:f}", "area_mm2", t.area_mm2, "k", matrix(&t.k),
        "mesiodistal_mm", ask_vector(s.plane_centre[HF_FRONTAL]), "buccolingual_mm",
        ask_vector(s.plane_centre[HF_SAGITTAL]), "radius_mm", s.centre_radius_mm);
    add_movement(answer, &t.k, load);
    return answer;
}

/* ---- risk */

static json_t *torque_window(json_t *in) {
    static const char *const words[HF_WINDOW_COUNT] = {"unknown", "below", "inside", "above"};
    const char *key, *source;
    double diameter, torque = NAN, low = NAN, high = NAN;
    ask_take(in, "{s:s, s:F, s?F}", "site", &key, "diameter_mm", &diameter, "torque_ncm", &torque);
    const hf_site *site = hf_site_find(key);
    if (!site) ask_refuse("site", key);
    hf_site_torque_window(site, diameter, &low, &high, &source);
    return json_pack("{s:o, s:o, s:s}", "low_ncm", ask_number(low), "high_ncm", ask_number(high), "class",
        words[hf_torque_class(torque, low, high)]);
}

static json_t *odds(json_t *in) {
    double share, ratio;
    ask_take(in, "{s:F, s:F}", "share", &share, "odds_ratio", &ratio);
    return json_pack("{s:f}", "share", hf_expit(hf_logit(share) + log(ratio)));
}

static json_t *plate_risk(json_t *in) {
    json_t *told;
    hf_range loss[16];
    hf_plate_risk risk;
    ask_take(in, "{s:o}", "losses", &told);
    size_t count = json_array_size(told);
    if (count > sizeof loss / sizeof *loss) ask_refuse("losses", "too many");
    for (size_t i = 0; i < count; i++) {
        double share = json_number_value(json_array_get(told, i));
        loss[i] = (hf_range){share, share, share};
    }
    hf_stability_plate(loss, count, &risk);
    return json_pack("{s:f, s:f}", "any_lost", risk.any_lost.mid, "all_lost", risk.all_lost.mid);
}

/* ---- the table of models */

static const struct {
    const char *name;
    json_t *(*answer)(json_t *in);
} models[] = {
    {"section", section},
    {"torsion-constant", torsion_constant},
    {"bar-stress", bar_stress},
    {"arm", arm},
    {"retained", retained},
    {"screw-compliance", screw_compliance},
    {"screw-stiffness", screw_stiffness},
    {"cortex", cortex},
    {"thread-factor", thread_factor},
    {"pull-out", pull_out},
    {"core-torsion", core_torsion},
    {"root", root},
    {"tooth", tooth},
    {"torque-window", torque_window},
    {"odds", odds},
    {"plate-risk", plate_risk},
    {"frame", ask_frame},
};

static json_t *ask(json_t *in) {
    const char *name = json_string_value(json_object_get(in, "model"));
    size_t m = 0, count = sizeof models / sizeof *models;
    while (name && m < count && strcmp(models[m].name, name) != 0) {
        m++;
    }
    if (!name || m == count) ask_refuse("no such model", name ? name : "none named");
    json_object_del(in, "model");
    json_t *variants = json_object_get(in, "variants");
    if (!variants) return models[m].answer(in);
    json_t *answers = json_array();
    for (size_t v = 0; v < json_array_size(variants); v++) {
        json_array_append_new(answers, models[m].answer(json_array_get(variants, v)));
    }
    return json_pack("{s:o}", "variants", answers);
}

int main(int argc, char **argv) {
    json_error_t error;
    if (argc != 2) ask_refuse("usage", "ask FILE");
    json_t *in = json_load_file(argv[1], JSON_REJECT_DUPLICATES, &error);
    if (!in) ask_refuse(argv[1], error.text);
    json_t *answer = ask(in);
    if (!answer) ask_refuse(argv[1], "the model gives no number");
    json_dumpf(answer, stdout, JSON_INDENT(2));
    putchar('\n');
    json_decref(answer);
    json_decref(in);
    return 0;
}
