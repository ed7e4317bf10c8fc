#include "plan.h"

#include <stdint.h>
#include <string.h>

size_t hf_plan_name(const void *items, size_t count, size_t stride, const char *name) {
    const char *item = items;
    for (size_t i = 0; name && i < count; i++, item += stride) {
        const char *other;
        memcpy(&other, item, sizeof other);
        if (other && strcmp(other, name) == 0) return i;
    }
    return SIZE_MAX;
}

static const hf_tooth_in *given_tooth(const hf_case *in, int tooth) {
    for (size_t i = 0; i < in->tooth_count; i++) {
        if (in->teeth[i].tooth == tooth) return &in->teeth[i];
    }
    return NULL;
}

/* Adds a tooth that the case names, once. Numbers that are no tooth are reported where they stand. */
static size_t add_tooth(hf_plan *plan, int tooth, const char *pointer) {
    int slot = hf_tooth_slot(tooth);
    if (slot < 0) {
        hf_report_problem(plan->report, pointer, "%d is no permanent tooth of ISO 3950 (11 to 48)", tooth);
        return SIZE_MAX;
    }
    if (plan->slot_tooth[slot] == SIZE_MAX) {
        size_t i = plan->tooth_count++;
        plan->slot_tooth[slot] = i;
        plan->tooth_segment[i] = SIZE_MAX;
        hf_tooth_like(
            given_tooth(plan->in, tooth), &plan->arches.place[slot], plan->teeth, i, &plan->teeth[i]);
    }
    return plan->slot_tooth[slot];
}

static void add_end_tooth(hf_plan *plan, const hf_end_in *end, size_t element, const char *member) {
    if (end->kind != HF_END_TOOTH) return;
    int slot = hf_tooth_slot(end->tooth);
    if (slot >= 0 && plan->slot_tooth[slot] != SIZE_MAX) return;
    const char *pointer = hf_arena_printf(plan->arena, "/elements/%zu/%s/tooth", element, member);
    if (add_tooth(plan, end->tooth, pointer) != SIZE_MAX)
        hf_report_assume_text(plan->report, pointer, "a tooth of average shape on the default arch",
            "default arch and morphology");
}

static void add_segment(hf_plan *plan, const char *name, const size_t *teeth, size_t count) {
    const hf_tooth **members = HF_NEW_ARRAY(plan->arena, const hf_tooth *, count);
    for (size_t k = 0; k < count; k++) {
        members[k] = &plan->teeth[teeth[k]];
        plan->tooth_segment[teeth[k]] = plan->segment_count;
    }
    hf_segment_of(name, members, count, &plan->segments[plan->segment_count++]);
}

/* One segment of the case. Its place in plan->segments equals its place in the case, also when it has faults.
 */
static void given_segment(hf_plan *plan, size_t s) {
    const hf_segment_in *in = &plan->in->segments[s];
    size_t *teeth = HF_NEW_ARRAY(plan->arena, size_t, in->tooth_count);
    size_t count = 0;
    if (hf_plan_name(plan->in->segments, s, sizeof *in, in->name) != SIZE_MAX)
        hf_report_problem(plan->report, hf_arena_printf(plan->arena, "/segments/%zu/name", s),
            "the name '%s' is already taken by another segment", in->name);
    if (in->tooth_count == 0)
        hf_report_problem(plan->report, hf_arena_printf(plan->arena, "/segments/%zu/teeth", s),
            "a segment has at least one tooth");
    for (size_t k = 0; k < in->tooth_count; k++) {
        const char *pointer = hf_arena_printf(plan->arena, "/segments/%zu/teeth/%zu", s, k);
        size_t tooth = add_tooth(plan, in->teeth[k], pointer);
        if (tooth == SIZE_MAX) continue;
        if (!given_tooth(plan->in, in->teeth[k]))
            hf_report_assume_text(plan->report, pointer, "a tooth of average shape on the default arch",
                "default arch and morphology");
        bool repeated = plan->tooth_segment[tooth] != SIZE_MAX;
        for (size_t i = 0; i < count; i++) {
            repeated |= teeth[i] == tooth;
        }
        if (repeated)
            hf_report_problem(plan->report, pointer, "tooth %d already belongs to a segment", in->teeth[k]);
        else
            teeth[count++] = tooth;
    }
    add_segment(plan, in->name, teeth, count);
}

/* Teeth that no segment names stand alone, under their own number. */
static void lone_segments(hf_plan *plan) {
    for (size_t i = 0; i < plan->tooth_count; i++) {
        if (plan->tooth_segment[i] != SIZE_MAX) continue;
        const char *name = hf_arena_printf(plan->arena, "%d", plan->teeth[i].place.tooth);
        hf_report_assume_text(plan->report, "/segments",
            hf_arena_printf(plan->arena, "tooth %s stands alone", name), "named by no segment");
        add_segment(plan, name, &i, 1);
    }
}

static double canine_area(hf_plan *plan) {
    hf_tooth canine;
    hf_tooth_like(NULL, &plan->arches.place[hf_tooth_slot(13)], plan->teeth, plan->tooth_count, &canine);
    return canine.area_mm2;
}

void hf_plan_teeth(hf_plan *plan) {
    const hf_case *in = plan->in;
    size_t room = in->tooth_count + 2 * in->element_count;
    for (size_t s = 0; s < in->segment_count; s++) {
        room += in->segments[s].tooth_count;
    }
    plan->teeth = HF_NEW_ARRAY(plan->arena, hf_tooth, room);
    plan->tooth_segment = HF_NEW_ARRAY(plan->arena, size_t, room);
    plan->segments = HF_NEW_ARRAY(plan->arena, hf_segment, in->segment_count + room);
    for (size_t slot = 0; slot < HF_TOOTH_SLOTS; slot++) {
        plan->slot_tooth[slot] = SIZE_MAX;
    }
    hf_arches_of(in, plan->report, &plan->arches);
    for (size_t i = 0; i < in->tooth_count; i++) {
        if (hf_tooth_slot(in->teeth[i].tooth) >= 0) add_tooth(plan, in->teeth[i].tooth, "/teeth");
    }
    for (size_t s = 0; s < in->segment_count; s++) {
        given_segment(plan, s);
    }
    for (size_t e = 0; e < in->element_count; e++) {
        add_end_tooth(plan, &in->elements[e].from, e, "from");
        add_end_tooth(plan, &in->elements[e].to, e, "to");
    }
    lone_segments(plan);
    if (plan->segment_count) plan->canine_area_mm2 = canine_area(plan);
}
