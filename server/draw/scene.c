#include "scene.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

/* Beyond the midline by this much something is behind what a side view shows. */
static const double behind_mm = 6.0;

static bool on_teeth(const hf_end_in *end) {
    return end->kind == HF_END_TOOTH || end->kind == HF_END_SEGMENT;
}

static bool is_mechanical(const hf_end_in *end) {
    return end->kind != HF_END_NONE && end->kind != HF_END_FIXED;
}

static hf_vec3 or_zero(hf_vec3 v) {
    return hf_vec3_is_given(v) ? v : hf_vec3_of(0.0, 0.0, 0.0);
}

static void add_load(struct hfd_scene *scene, struct hfd_load load) {
    scene->largest_n = fmax(scene->largest_n, hf_norm(load.force_n));
    scene->largest_nmm[load.of] = fmax(scene->largest_nmm[load.of], hf_norm(load.moment_nmm));
    scene->loads[scene->load_count++] = load;
}

/* A lever is held at its tube only: there its force makes a couple. */
static hf_vec3 couple_at(const hf_element_in *in, const hf_element_out *out, bool from, hf_vec3 force) {
    if (in->kind == HF_ELEMENT_APPLIED) return or_zero(in->applied_moment_nmm);
    if (in->kind == HF_ELEMENT_CANTILEVER && from) return hf_cross(hf_sub(out->to_mm, out->from_mm), force);
    return hf_vec3_of(0.0, 0.0, 0.0);
}

static void add_element(struct hfd_scene *scene, size_t e) {
    const hf_element_in *in = &scene->in->elements[e];
    const hf_element_out *out = &scene->answer->elements[e];
    bool has_from = is_mechanical(&in->from), has_to = is_mechanical(&in->to);
    bool tell_to = has_to && (on_teeth(&in->to) || !has_from || !on_teeth(&in->from));
    hf_vec3 force =
        isnan(out->force_n) ? hf_vec3_of(0.0, 0.0, 0.0) : hf_scale(or_zero(out->direction), out->force_n);
    struct hfd_load load = {.of = HFD_LOAD_OF_ELEMENT, .index = e, .name = out->name};
    if (has_from) {
        load.end = "from", load.told = !tell_to, load.at_mm = out->from_mm, load.force_n = force;
        load.moment_nmm = couple_at(in, out, true, force);
        add_load(scene, load);
    }
    if (has_to) {
        load.end = "to", load.told = tell_to, load.at_mm = out->to_mm;
        load.force_n = in->from.kind == HF_END_NONE ? force : hf_scale(force, -1.0);
        load.moment_nmm = couple_at(in, out, false, load.force_n);
        add_load(scene, load);
    }
}

/* 1, 2 or 5 times a power of ten: the largest that draws `largest_n` no longer than `most_mm`. A couple
 * leaves the rounding of forces behind, which is none. */
static double round_scale(double largest_n, double most_mm) {
    static const double steps[] = {5.0, 2.0, 1.0};
    if (!(largest_n > 1e-3)) return 10.0;
    double most = most_mm / largest_n, power = pow(10.0, floor(log10(most)));
    size_t i = 0;
    while (i < 2 && steps[i] * power > most)
        i++;
    return steps[i] * power;
}

bool hfd_scene_of(const hf_case *in, const hf_answer *answer, hf_arena *arena, struct hfd_scene *out) {
    const double longest_mm = 17.0;
    *out = (struct hfd_scene){.in = in, .answer = answer, .arena = arena};
    if (!hf_geometry_of(in, arena, &out->geometry)) return false;
    out->loads = HF_NEW_ARRAY(
        arena, struct hfd_load, 2 * answer->element_count + answer->segment_count + answer->screw_count);
    for (size_t s = 0; s < answer->segment_count; s++) {
        const hf_segment_out *segment = &answer->segments[s];
        add_load(out, (struct hfd_load){.of = HFD_LOAD_ON_TEETH,
                          .index = s,
                          .name = segment->name,
                          .told = true,
                          .at_mm = segment->centre_of_resistance_mm,
                          .force_n = segment->force_n,
                          .moment_nmm = segment->moment_nmm});
    }
    for (size_t s = 0; s < answer->screw_count; s++) {
        const hf_screw_out *screw = &answer->screws[s];
        add_load(out, (struct hfd_load){.of = HFD_LOAD_ON_SCREW,
                          .index = s,
                          .name = screw->name,
                          .told = true,
                          .at_mm = screw->head_mm,
                          .force_n = screw->load.head.force,
                          .moment_nmm = screw->load.head.moment});
    }
    for (size_t e = 0; e < answer->element_count; e++)
        add_element(out, e);
    out->mm_per_n = round_scale(out->largest_n, longest_mm);
    return true;
}

/* ---- what is in sight */

bool hfd_scene_is_loaded(const struct hfd_scene *scene, size_t segment) {
    if (segment == SIZE_MAX) return false;
    const hf_segment_out *told = &scene->answer->segments[segment];
    return hf_norm(told->force_n) > 0.0 || hf_norm(told->moment_nmm) > 0.0;
}

bool hfd_scene_sees_tooth(enum hfd_look look, const hf_geometry_tooth *tooth) {
    return hfd_view_sees_jaw(look, tooth->shape->jaw) &&
           hfd_view_sees_side(look, hf_tooth_is_left(tooth->tooth->place.tooth) ? 1.0 : -1.0, 0.0);
}

bool hfd_scene_sees_wire(enum hfd_look look, const hf_geometry_wire *wire) {
    return hfd_view_sees_jaw(look, wire->jaw) &&
           hfd_view_sees_side(look, 0.5 * (wire->span.from_mm.x + wire->span.to_mm.x), 0.0);
}

bool hfd_scene_sees_screw(const struct hfd_scene *scene, enum hfd_look look, size_t s) {
    const hf_geometry_screw *screw = &scene->geometry.screws[s];
    return hfd_view_sees_jaw(look, screw->jaw) && hfd_view_sees_side(look, screw->head_mm.x, behind_mm);
}

bool hfd_scene_sees_plate(const struct hfd_scene *scene, enum hfd_look look, size_t p) {
    const hf_geometry_plate *plate = &scene->geometry.plates[p];
    for (size_t s = 0; s < plate->seat_count; s++) {
        if (hfd_scene_sees_screw(scene, look, plate->seats[s].screw)) return true;
    }
    return false;
}

/* The jaw of an end; that of a fitting is its plate's. */
static bool sees_end(const struct hfd_scene *scene, enum hfd_look look, const hf_end_in *end) {
    const hf_geometry *geometry = &scene->geometry;
    switch (end->kind) {
    case HF_END_FITTING:
        for (size_t p = 0; p < geometry->plate_count; p++) {
            const hf_geometry_plate *plate = &geometry->plates[p];
            for (size_t f = 0; f < plate->fitting_count; f++) {
                if (strcmp(plate->fittings[f].node, end->fitting) == 0)
                    return hfd_scene_sees_plate(scene, look, p);
            }
        }
        return false;
    case HF_END_TOOTH:
        return hfd_view_sees_jaw(look, hf_tooth_jaw(end->tooth));
    case HF_END_SEGMENT:
        for (size_t s = 0; s < scene->answer->segment_count; s++) {
            const hf_segment_out *segment = &scene->answer->segments[s];
            if (strcmp(segment->name, end->segment) == 0)
                return hfd_view_sees_jaw(look, hf_tooth_jaw(segment->teeth[0]));
        }
        return false;
    default:
        return false;
    }
}

bool hfd_scene_sees_element(const struct hfd_scene *scene, enum hfd_look look, size_t e) {
    const hf_element_out *out = &scene->answer->elements[e];
    hf_vec3 from = hf_vec3_is_given(out->from_mm) ? out->from_mm : out->to_mm;
    hf_vec3 to = hf_vec3_is_given(out->to_mm) ? out->to_mm : out->from_mm;
    if (!hfd_view_sees_side(look, 0.5 * (from.x + to.x), 2.0)) return false;
    return sees_end(scene, look, &scene->in->elements[e].from) ||
           sees_end(scene, look, &scene->in->elements[e].to);
}

static bool sees_segment(enum hfd_look look, const hf_segment_out *segment) {
    if (!hfd_view_sees_jaw(look, hf_tooth_jaw(segment->teeth[0]))) return false;
    for (size_t t = 0; t < segment->tooth_count; t++) {
        if (hfd_view_sees_side(look, hf_tooth_is_left(segment->teeth[t]) ? 1.0 : -1.0, 0.0)) return true;
    }
    return false;
}

bool hfd_scene_sees_load(const struct hfd_scene *scene, enum hfd_look look, const struct hfd_load *load) {
    if (load->of == HFD_LOAD_ON_TEETH) return sees_segment(look, &scene->answer->segments[load->index]);
    if (load->of == HFD_LOAD_ON_SCREW) return hfd_scene_sees_screw(scene, look, load->index);
    const hf_element_in *in = &scene->in->elements[load->index];
    return hfd_scene_sees_element(scene, look, load->index) &&
           sees_end(scene, look, strcmp(load->end, "from") == 0 ? &in->from : &in->to);
}

bool hfd_scene_tells(const struct hfd_scene *scene, enum hfd_look look, const struct hfd_load *load) {
    for (size_t i = 0; i < scene->load_count && !load->told; i++) {
        const struct hfd_load *other = &scene->loads[i];
        if (other->told && other->of == load->of && other->index == load->index)
            return !hfd_scene_sees_load(scene, look, other);
    }
    return load->told;
}

/* Is there a load, or at least a screw, that is seen from this side and not from the other? */
static bool side_matters(
    const struct hfd_scene *scene, enum hfd_look look, enum hfd_look other, bool loaded) {
    for (size_t i = 0; i < scene->load_count; i++) {
        const struct hfd_load *load = &scene->loads[i];
        bool acts = hf_norm(load->force_n) > 0.0 || hf_norm(load->moment_nmm) > 0.0;
        if (acts >= loaded && hfd_scene_sees_load(scene, look, load) &&
            !hfd_scene_sees_load(scene, other, load))
            return true;
    }
    return false;
}

size_t hfd_scene_looks(const struct hfd_scene *scene, unsigned views, enum hfd_look looks[HFD_LOOK_COUNT]) {
    bool loaded = scene->largest_n > 0.0, left = side_matters(scene, HFD_LOOK_LEFT, HFD_LOOK_RIGHT, loaded);
    const bool wanted[HFD_LOOK_COUNT] = {
        [HFD_LOOK_UPPER] = scene->geometry.jaw[HF_MAXILLA],
        [HFD_LOOK_LOWER] = scene->geometry.jaw[HF_MANDIBLE],
        [HFD_LOOK_FRONT] = true,
        [HFD_LOOK_RIGHT] = !left || side_matters(scene, HFD_LOOK_RIGHT, HFD_LOOK_LEFT, loaded),
        [HFD_LOOK_LEFT] = left,
    };
    size_t count = 0;
    for (enum hfd_look look = 0; look < HFD_LOOK_COUNT; look++) {
        if (wanted[look] && (views & 1u << hfd_looks[look].view)) looks[count++] = look;
    }
    return count;
}

/* ---- what a look makes of a load */

struct hfd_seen hfd_scene_seen(
    const struct hfd_scene *scene, enum hfd_look look, const struct hfd_load *load) {
    const double least_px = 4.0, least_share = 0.02;
    struct hfd_seen seen = {.force = hfd_view_vector(look, load->force_n),
        .moment_nmm = hfd_view_towards(look, load->moment_nmm)};
    seen.force_n = hypot(seen.force.x, seen.force.y);
    seen.has_force = seen.force_n * scene->mm_per_n * scene->px_per_mm >= least_px;
    double largest = scene->largest_nmm[load->of];
    seen.has_moment = largest > 0.0 && fabs(seen.moment_nmm) >= least_share * largest;
    return seen;
}

hf_vec3 hfd_scene_rotation(const struct hfd_scene *scene, enum hfd_look look, size_t s) {
    const hf_segment_out *segment = &scene->answer->segments[s];
    hf_view view = hfd_looks[look].view;
    const double *at = segment->views[view].centre_of_rotation_mm;
    hf_vec3 centre = segment->centre_of_resistance_mm;
    if (!isfinite(at[0]) || !isfinite(at[1])) return hf_vec3_absent();
    if (view == HF_FRONTAL) return hf_vec3_of(at[0], centre.y, at[1]);
    if (view == HF_SAGITTAL) return hf_vec3_of(centre.x, at[0], at[1]);
    return hf_vec3_of(at[0], at[1], centre.z);
}
