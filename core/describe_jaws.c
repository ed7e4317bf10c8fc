#include "describe.h"

#include <assert.h>

#include "evidence.h"

/* Without a site the screw stands in the jaw on whose side of the occlusal plane it is. */
static hf_jaw screw_jaw(const hf_plan_screw *screw) {
    if (screw->has_site) return screw->site.jaw;
    return screw->entry_mm.z < 0.0 ? HF_MANDIBLE : HF_MAXILLA;
}

static hf_jaw plate_jaw(const hf_plan *plan, const hf_plan_plate *plate) {
    assert(plate->seat_count > 0);
    return screw_jaw(&plan->screws[plate->seats[0].screw]);
}

static const hf_plan_plate *plate_of(const hf_plan *plan, size_t body) {
    size_t p = plan->in->plate_count;
    while (body < plan->plates[--p].first_body) {
    }
    return &plan->plates[p];
}

/* The jaw that an end pulls on; HF_JAW_COUNT for a point outside. */
static hf_jaw end_jaw(const hf_plan *plan, const hf_end_in *in, const hf_plan_end *end) {
    if (in->kind == HF_END_TOOTH) return hf_tooth_jaw(in->tooth);
    if (in->kind == HF_END_FITTING) return plate_jaw(plan, plate_of(plan, end->body));
    if (in->kind != HF_END_SEGMENT) return HF_JAW_COUNT;
    size_t s = hf_plan_name(plan->segments, plan->segment_count, sizeof *plan->segments, in->segment);
    assert(s != SIZE_MAX && plan->segments[s].tooth_count > 0);
    return hf_tooth_jaw(plan->segments[s].teeth[0]->place.tooth);
}

/* What the elastics that leave a jaw pull on its plates with, and how long a day. */
typedef struct pulls {
    double force_n, force_hours;
} pulls;

static void add_elastic(const hf_plan *plan, const hf_plan_element *element, pulls jaws[HF_JAW_COUNT]) {
    hf_element_kind kind = element->in->kind;
    if (kind != HF_ELEMENT_EXTRAORAL_ELASTIC && kind != HF_ELEMENT_ELASTIC) return;
    const hf_end_in *ends[] = {&element->in->from, &element->in->to};
    hf_jaw jaw[] = {end_jaw(plan, ends[0], &element->from), end_jaw(plan, ends[1], &element->to)};
    for (int end = 0; end < 2 && jaw[0] != jaw[1]; end++) {
        if (ends[end]->kind != HF_END_FITTING) continue;
        jaws[jaw[end]].force_n += element->force_n;
        jaws[jaw[end]].force_hours += element->force_n * element->in->hours_per_day;
    }
}

static hf_vec3 centre_of(const hf_plan *plan, hf_jaw jaw) {
    bool upper = jaw == HF_MAXILLA;
    hf_vec3 given = plan->in->arches[jaw].centre_mm;
    if (hf_vec3_is_given(given)) return given;
    hf_vec3 centre = upper ? hf_vec3_of(0.0, HF_EV(MIDFACE_DEPTH), HF_EV(MIDFACE_HEIGHT))
                           : hf_vec3_of(0.0, HF_EV(HINGE_DEPTH), HF_EV(HINGE_HEIGHT));
    hf_report_assume_vec3(plan->report, upper ? "/arches/maxilla/centre_mm" : "/arches/mandible/centre_mm",
        centre, upper ? "tanne-1995" : "bonwill-balkwill");
    if (upper) hf_report_cite(plan->report, "billiet-2001");
    return centre;
}

/* Turns worth naming, by the lever of the force that would make them. About +x the front goes down, about +y
 * the left side, about +z the front to the left. */
static const char *rotation_words(hf_wrench load, hf_arena *arena) {
    static const char *const words[3][2] = {{"front down, back up", "front up, back down"},
        {"left side down, right side up", "left side up, right side down"},
        {"front to the left", "front to the right"}};
    const double moments[3] = {load.moment.x, load.moment.y, load.moment.z};
    double least = HF_EV(JAW_LEVER) * hf_norm(load.force);
    const char *text = "none";
    bool any = false;
    for (int i = 0; i < 3; i++) {
        if (!(fabs(moments[i]) > least)) continue;
        const char *word = words[i][moments[i] < 0.0];
        text = any ? hf_arena_printf(arena, "%s; %s", text, word) : word;
        any = true;
    }
    return text;
}

static void describe_jaw(
    const hf_plan *plan, const hf_assembly *assembly, hf_jaw jaw, const pulls *pulled, hf_jaw_out *out) {
    hf_vec3 centre = centre_of(plan, jaw);
    hf_wrench sum = {{0.0, 0.0, 0.0}, {0.0, 0.0, 0.0}};
    for (size_t p = 0; p < plan->in->plate_count; p++) {
        const hf_plan_plate *plate = &plan->plates[p];
        for (size_t s = 0; s < plate->seat_count && plate_jaw(plan, plate) == jaw; s++) {
            size_t screw = plate->seats[s].screw;
            hf_wrench head = hf_assembly_head(assembly, screw);
            sum = hf_wrench_add(sum, hf_wrench_move(head, plan->screws[screw].head_mm, centre));
        }
    }
    double force = hf_norm(sum.force);
    *out = (hf_jaw_out){.jaw = jaw,
        .force_n = sum.force,
        .moment_nmm = sum.moment,
        .about_mm = centre,
        .line_mm = hf_vec3_absent(),
        .rotation = rotation_words(sum, plan->arena),
        .hours_per_day = pulled->force_hours / pulled->force_n};
    if (force > 0.0)
        out->line_mm = hf_add(centre, hf_scale(hf_cross(sum.force, sum.moment), 1.0 / (force * force)));
    out->day_mean_n = force * out->hours_per_day / 24.0;
}

void hf_describe_jaws(const hf_plan *plan, const hf_assembly *assembly, hf_answer *out) {
    pulls jaws[HF_JAW_COUNT] = {{0.0, 0.0}, {0.0, 0.0}};
    for (size_t e = 0; e < plan->in->element_count; e++) {
        add_elastic(plan, &plan->elements[e], jaws);
    }
    out->jaws = HF_NEW_ARRAY(plan->arena, hf_jaw_out, HF_JAW_COUNT);
    for (int j = 0; j < HF_JAW_COUNT; j++) {
        if (jaws[j].force_n > 0.0)
            describe_jaw(plan, assembly, (hf_jaw)j, &jaws[j], &out->jaws[out->jaw_count++]);
    }
}
