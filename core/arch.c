#include "arch.h"

#include "evidence.h"

static const double radian = M_PI / 180.0;

/* ---- the arch form
 *
 * The beta function of width W and depth D, forward of the second molars
 *     3.0314 D ((1/2 + x/W)(1/2 - x/W))^0.8   (Braun et al. 1998; value from memory)
 * is, with x = (W/2) sin t, simply D cos^1.6 t. Here one half of it, x to the side, y behind the incisors. */
typedef struct curve {
    double half_width, depth, power; /* power: twice the beta function's exponent */
} curve;

typedef struct stand {
    double x, y;           /* on the curve */
    double back_x, back_y; /* unit tangent, away from the midline */
} stand;

static stand stand_at(const curve *c, double t) {
    double cosine = cos(t), sine = sin(t), forward = pow(cosine, c->power);
    stand s = {.x = c->half_width * sine, .y = c->depth * (1.0 - forward)};
    double dx = c->half_width * cosine * cosine / forward, dy = c->power * c->depth * sine;
    double length = sqrt(dx * dx + dy * dy);
    s.back_x = dx / length;
    s.back_y = dy / length;
    return s;
}

#define PANELS 16

/* Arc length at the panels' ends, by chords. */
static void measure(const curve *c, double length[PANELS + 1]) {
    double x0 = 0.0, y0 = 0.0;
    length[0] = 0.0;
    for (int i = 1; i <= PANELS; i++) {
        double t = 0.5 * M_PI * i / PANELS;
        double x = c->half_width * sin(t);
        double y = i == PANELS ? c->depth : c->depth * (1.0 - pow(cos(t), c->power));
        length[i] = length[i - 1] + sqrt((x - x0) * (x - x0) + (y - y0) * (y - y0));
        x0 = x;
        y0 = y;
    }
}

/* Behind its end the curve goes straight on. */
static stand stand_along(const curve *c, const double length[PANELS + 1], double s) {
    if (s >= length[PANELS]) return (stand){c->half_width, c->depth + s - length[PANELS], 0.0, 1.0};
    int i = 0;
    while (s > length[i + 1])
        i++;
    double part = (s - length[i]) / (length[i + 1] - length[i]);
    return stand_at(c, 0.5 * M_PI * (i + part) / PANELS);
}

/* ---- places of the teeth */

/* Crown and attachments follow from the tooth's own crest and axes. */
static void build(hf_tooth_place *place) {
    const hf_morphology *shape = hf_morphology_of(place->tooth);
    double to_centre = HF_EV(NECK_TO_CREST) + 0.5 * shape->crown_mm;
    double to_face = 0.5 * shape->buccolingual_mm;
    place->crown_mm = hf_add_scaled(place->crest_mm, place->coronal, to_centre);
    place->attachment_mm[HF_AT_BRACKET] = hf_add_scaled(place->crown_mm, place->buccal, to_face);
    place->attachment_mm[HF_AT_BUCCAL_TUBE] = place->attachment_mm[HF_AT_BRACKET];
    place->attachment_mm[HF_AT_PALATAL] = hf_add_scaled(place->crown_mm, place->buccal, -to_face);
    place->attachment_mm[HF_AT_CREST] = place->crest_mm;
}

static double tilt_of(const hf_morphology *shape) {
    double incisor = shape->jaw == HF_MAXILLA ? HF_EV(TILT_UPPER_INCISOR) : HF_EV(TILT_LOWER_INCISOR);
    double deg = shape->position <= 2   ? incisor
                 : shape->position == 3 ? HF_EV(TILT_CANINE_SHARE) * incisor
                                        : HF_EV(TILT_BACK);
    return deg * radian;
}

/* Incisal edges and canine tips stand on the arch line, the crowns of premolars and molars with their buccal
 * faces: their middle is half a crown inside. All reach the occlusal plane. */
static void place_tooth(int tooth, const stand *at, hf_tooth_place *place) {
    const hf_morphology *shape = hf_morphology_of(tooth);
    double side = hf_tooth_is_left(tooth) ? 1.0 : -1.0, tilt = tilt_of(shape);
    hf_vec3 up = hf_vec3_of(0.0, 0.0, shape->jaw == HF_MAXILLA ? -1.0 : 1.0);
    hf_vec3 outward = hf_vec3_of(side * at->back_y, -at->back_x, 0.0);
    double inside = shape->position <= 3 ? 0.0 : 0.5 * shape->buccolingual_mm;
    hf_vec3 top = hf_add_scaled(hf_vec3_of(side * at->x, at->y, 0.0), outward, -inside);

    place->tooth = tooth;
    place->mesial = hf_vec3_of(-side * at->back_x, -at->back_y, 0.0);
    place->coronal = hf_add_scaled(hf_scale(up, cos(tilt)), outward, sin(tilt));
    place->buccal = hf_add_scaled(hf_scale(outward, cos(tilt)), up, -sin(tilt));
    place->crest_mm = hf_add_scaled(top, place->coronal, -(shape->crown_mm + HF_EV(NECK_TO_CREST)));
    build(place);
}

/* From the midline by the teeth's widths; spaces or crowding are spread evenly, so that the second molars end
 * where the arch's depth says. */
static void place_jaw(hf_jaw jaw, const hf_arch *arch, hf_tooth_place place[]) {
    curve c = {0.5 * arch->width_mm, arch->depth_mm, 2.0 * HF_EV(ARCH_EXPONENT)};
    double length[PANELS + 1], row = 0.0, before = 0.0;
    measure(&c, length);
    int first = jaw == HF_MAXILLA ? 10 : 40, left = jaw == HF_MAXILLA ? 20 : 30;
    for (int position = 1; position <= 7; position++) {
        row += hf_morphology_of(first + position)->mesiodistal_mm;
    }
    for (int position = 1; position <= 8; position++) {
        double width = hf_morphology_of(first + position)->mesiodistal_mm;
        stand at = stand_along(&c, length, (before + 0.5 * width) * length[PANELS] / row);
        before += width;
        place_tooth(first + position, &at, &place[hf_tooth_slot(first + position)]);
        place_tooth(left + position, &at, &place[hf_tooth_slot(left + position)]);
    }
}

/* ---- what the case gives */

static bool no_direction(hf_vec3 axis, const char *pointer, hf_report *report) {
    if (!hf_vec3_is_given(axis) || hf_norm(axis) > 0.0) return false;
    hf_report_problem(report, pointer, "the axis has no length");
    return true;
}

static void override_place(
    const hf_tooth_in *in, size_t index, const char *arch_words, hf_report *report, hf_tooth_place *place) {
    const char *root_pointer = hf_arena_printf(report->arena, "/teeth/%zu/root_axis", index);
    const char *mesial_pointer = hf_arena_printf(report->arena, "/teeth/%zu/mesial_axis", index);
    bool has_root = hf_vec3_is_given(in->root_axis), has_mesial = hf_vec3_is_given(in->mesial_axis);
    bool unusable = no_direction(in->root_axis, root_pointer, report);
    unusable |= no_direction(in->mesial_axis, mesial_pointer, report);
    if (unusable) return;

    hf_vec3 coronal = has_root ? hf_scale(hf_unit(in->root_axis), -1.0) : place->coronal;
    hf_vec3 along = has_mesial ? hf_unit(in->mesial_axis) : place->mesial;
    hf_vec3 mesial = hf_perpendicular(along, coronal);
    if (hf_norm(mesial) < 1e-6) {
        hf_report_problem(
            report, has_mesial ? mesial_pointer : root_pointer, "root axis and mesial axis are parallel");
        return;
    }
    if (hf_vec3_is_given(in->crest_mm))
        place->crest_mm = in->crest_mm;
    else
        hf_report_assume_vec3(report, hf_arena_printf(report->arena, "/teeth/%zu/crest_mm", index),
            place->crest_mm, arch_words);
    if (has_root || has_mesial) {
        double hand = (hf_tooth_jaw(in->tooth) == HF_MAXILLA) == hf_tooth_is_left(in->tooth) ? -1.0 : 1.0;
        place->coronal = coronal;
        place->mesial = hf_unit(mesial);
        place->buccal = hf_scale(hf_cross(place->coronal, place->mesial), hand);
    }
    if (!has_root) hf_report_assume_vec3(report, root_pointer, hf_scale(coronal, -1.0), arch_words);
    if (!has_mesial) hf_report_assume_vec3(report, mesial_pointer, place->mesial, arch_words);
    build(place);
}

static void override_places(const hf_case *in, hf_report *report, hf_arches *out) {
    for (size_t i = 0; i < in->tooth_count; i++) {
        const hf_tooth_in *tooth = &in->teeth[i];
        int slot = hf_tooth_slot(tooth->tooth);
        bool repeated = false;
        for (size_t j = 0; j < i; j++) {
            repeated |= in->teeth[j].tooth == tooth->tooth;
        }
        if (slot < 0 || repeated) {
            const char *pointer = hf_arena_printf(report->arena, "/teeth/%zu/tooth", i);
            if (slot < 0)
                hf_report_problem(
                    report, pointer, "%d is no permanent tooth of ISO 3950 (11 to 48)", tooth->tooth);
            else
                hf_report_problem(report, pointer, "tooth %d is named twice", tooth->tooth);
            continue;
        }
        const hf_arch *arch = &in->arches[hf_tooth_jaw(tooth->tooth)];
        bool measured = !isnan(arch->width_mm) && !isnan(arch->depth_mm);
        override_place(tooth, i, measured ? "arch form of the given width and depth" : "default arch", report,
            &out->place[slot]);
    }
}

/* ---- which arches a case uses */

typedef struct usage {
    bool jaw[HF_JAW_COUNT], vault;
} usage;

static void use_tooth(int tooth, usage *use) {
    if (hf_tooth_is_permanent(tooth)) use->jaw[hf_tooth_jaw(tooth)] = true;
}

static void use_point(const hf_point *point, usage *use) {
    if (point->kind == HF_POINT_NEAR) use_tooth(point->tooth, use);
    if (point->kind == HF_POINT_VESTIBULE) use_tooth(point->between[0], use);
    if (point->kind == HF_POINT_PALATE) use->vault = use->jaw[HF_MAXILLA] = true;
}

static void use_end(const hf_end_in *end, usage *use) {
    if (end->kind == HF_END_TOOTH) use_tooth(end->tooth, use);
    if (end->kind == HF_END_SEGMENT) use_point(&end->at_mm, use);
    if (end->kind == HF_END_FIXED) use_point(&end->fixed_mm, use);
}

static usage used_by(const hf_case *in) {
    usage use = {{false, false}, false};
    for (size_t i = 0; i < in->tooth_count; i++) {
        use_tooth(in->teeth[i].tooth, &use);
    }
    for (size_t s = 0; s < in->segment_count; s++) {
        for (size_t k = 0; k < in->segments[s].tooth_count; k++) {
            use_tooth(in->segments[s].teeth[k], &use);
        }
    }
    for (size_t s = 0; s < in->screw_count; s++) {
        use_point(&in->screws[s].entry, &use);
    }
    for (size_t p = 0; p < in->plate_count; p++) {
        for (size_t n = 0; n < in->plates[p].node_count; n++) {
            use_point(&in->plates[p].nodes[n].at, &use);
        }
    }
    for (size_t e = 0; e < in->element_count; e++) {
        use_end(&in->elements[e].from, &use);
        use_end(&in->elements[e].to, &use);
    }
    return use;
}

static double or_assume(double given, hf_ev ev, bool used, const char *pointer, hf_report *report) {
    if (!isnan(given)) return given;
    const hf_evidence *row = &hf_evidence_table[ev];
    if (used) hf_report_assume_real(report, pointer, row->value, row->key);
    return row->value;
}

void hf_arches_of(const hf_case *in, hf_report *report, hf_arches *out) {
    usage use = used_by(in);
    const hf_arch *upper = &in->arches[HF_MAXILLA], *lower = &in->arches[HF_MANDIBLE];
    bool in_upper = use.jaw[HF_MAXILLA], in_lower = use.jaw[HF_MANDIBLE];
    out->arch[HF_MAXILLA] = (hf_arch){
        or_assume(upper->width_mm, HF_EV_ARCH_UPPER_WIDTH, in_upper, "/arches/maxilla/width_mm", report),
        or_assume(upper->depth_mm, HF_EV_ARCH_UPPER_DEPTH, in_upper, "/arches/maxilla/depth_mm", report),
        or_assume(upper->vault_height_mm, HF_EV_PALATE_HEIGHT, use.vault, "/arches/maxilla/vault_height_mm",
            report),
        .centre_mm = upper->centre_mm,
    };
    out->arch[HF_MANDIBLE] = (hf_arch){
        or_assume(lower->width_mm, HF_EV_ARCH_LOWER_WIDTH, in_lower, "/arches/mandible/width_mm", report),
        or_assume(lower->depth_mm, HF_EV_ARCH_LOWER_DEPTH, in_lower, "/arches/mandible/depth_mm", report),
        .vault_height_mm = NAN,
        .centre_mm = lower->centre_mm,
    };
    place_jaw(HF_MAXILLA, &out->arch[HF_MAXILLA], out->place);
    place_jaw(HF_MANDIBLE, &out->arch[HF_MANDIBLE], out->place);
    override_places(in, report, out);
}
