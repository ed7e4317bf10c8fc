#include "segment.h"

#include "evidence.h"
#include "movement.h"

/* ---- planes */

/* In a plane with right-handed axes i, j and the normal n a turn w about n moves a point at (i, j) by w (-j,
 * i). */
static const struct {
    int i, j, n;
} planes[HF_VIEW_COUNT] = {
    [HF_FRONTAL] = {2, 0, 1},
    [HF_SAGITTAL] = {1, 2, 0},
    [HF_OCCLUSAL] = {0, 1, 2},
};

static double component(hf_vec3 v, int axis) {
    return axis == 0 ? v.x : axis == 1 ? v.y : v.z;
}

static void set_component(hf_vec3 *v, int axis, double value) {
    double *at[] = {&v->x, &v->y, &v->z};
    *at[axis] = value;
}

/* What is left of the stiffness when everything out of the plane is held: compliance of the shifts, stiffness
 * of the turn about the plane's centre, and that centre seen from the reference point. */
typedef struct plane {
    double cii, cij, cjj, turn;
    double at_i, at_j;
} plane;

static plane plane_of(const hf_mat6 *k, hf_view view) {
    int i = planes[view].i, j = planes[view].j, w = 3 + planes[view].n;
    double ii = k->m[i][i], ij = k->m[i][j], jj = k->m[j][j], iw = k->m[i][w], jw = k->m[j][w];
    double det = ii * jj - ij * ij;
    plane p = {.cii = jj / det, .cij = -ij / det, .cjj = ii / det};
    double si = p.cii * iw + p.cij * jw, sj = p.cij * iw + p.cjj * jw;
    p.turn = k->m[w][w] - iw * si - jw * sj;
    /* A force through the centre does not turn: (-j, i) of it equals C times the coupling. */
    p.at_i = sj;
    p.at_j = -si;
    return p;
}

static void place_centres(hf_segment *out) {
    hf_vec3 sum = {0.0, 0.0, 0.0};
    for (int view = 0; view < HF_VIEW_COUNT; view++) {
        plane p = plane_of(&out->k, (hf_view)view);
        int i = planes[view].i, j = planes[view].j;
        hf_vec3 *centre = &out->plane_centre[view];
        *centre = hf_vec3_of(0.0, 0.0, 0.0);
        set_component(centre, i, component(out->at_mm, i) + p.at_i);
        set_component(centre, j, component(out->at_mm, j) + p.at_j);
        sum = hf_add(sum, *centre);
    }
    out->centre_mm = hf_scale(sum, 0.5); /* two views see each coordinate */
    out->centre_radius_mm = 0.0;
    for (int view = 0; view < HF_VIEW_COUNT; view++) {
        int n = planes[view].n;
        set_component(&out->plane_centre[view], n, component(out->centre_mm, n));
        double apart = hf_norm(hf_sub(out->plane_centre[view], out->centre_mm));
        if (apart > out->centre_radius_mm) out->centre_radius_mm = apart;
    }
}

/* ---- the segment */

static bool spans_midline(const hf_tooth *const *teeth, size_t count) {
    for (size_t i = 1; i < count; i++) {
        if (hf_tooth_is_left(teeth[i]->place.tooth) != hf_tooth_is_left(teeth[0]->place.tooth)) return true;
    }
    return false;
}

/* Across the midline mesial means nothing: x to the patient's left, y forward. */
static hf_axes axes_of(const hf_tooth *const *teeth, size_t count, bool crosses) {
    hf_vec3 mesial = {0.0, 0.0, 0.0}, buccal = mesial, coronal = mesial;
    for (size_t i = 0; i < count; i++) {
        mesial = hf_add(mesial, teeth[i]->place.mesial);
        buccal = hf_add(buccal, teeth[i]->place.buccal);
        coronal = hf_add(coronal, teeth[i]->place.coronal);
    }
    if (crosses) {
        mesial = hf_vec3_of(1.0, 0.0, 0.0);
        buccal = hf_vec3_of(0.0, -1.0, 0.0);
    }
    hf_axes axes;
    axes.z = hf_unit(coronal);
    axes.x = hf_unit(hf_perpendicular(mesial, axes.z));
    axes.y = hf_cross(axes.z, axes.x);
    if (hf_dot(axes.y, buccal) < 0.0) axes.y = hf_scale(axes.y, -1.0);
    return axes;
}

void hf_segment_of(const char *name, const hf_tooth *const *teeth, size_t count, hf_segment *out) {
    *out = (hf_segment){.name = name, .teeth = teeth, .tooth_count = count};
    if (count == 0) return;
    for (size_t i = 0; i < count; i++) {
        out->at_mm = hf_add_scaled(out->at_mm, teeth[i]->place.crest_mm, 1.0 / (double)count);
    }
    for (size_t i = 0; i < count; i++) {
        hf_mat6 k = hf_mat6_move(&teeth[i]->k, teeth[i]->place.crest_mm, out->at_mm);
        out->k = hf_mat6_add(&out->k, &k);
    }
    out->crosses_midline = spans_midline(teeth, count);
    out->local = axes_of(teeth, count, out->crosses_midline);
    place_centres(out);
}

/* ---- what a load does */

static hf_local_out local_load(const hf_axes *local, hf_wrench w) {
    hf_vec3 about[3];
    hf_move_axes(local, about);
    return (hf_local_out){
        .mesial_n = hf_dot(w.force, local->x),
        .buccal_n = hf_dot(w.force, local->y),
        .occlusal_n = hf_dot(w.force, local->z),
        .tip_nmm = hf_dot(w.moment, about[0]),
        .torque_nmm = hf_dot(w.moment, about[1]),
        .rotation_nmm = hf_dot(w.moment, about[2]),
    };
}

/* Index 0 and 1 of the answer are the lower and the higher global axis. */
static void put_pair(int i, int j, double at_i, double at_j, double out[2]) {
    out[i > j] = at_i;
    out[j > i] = at_j;
}

/* `load` and `twist` about the segment's centre. */
static hf_view_out view_of(const hf_segment *segment, hf_view view, hf_wrench load, hf_twist twist) {
    int i = planes[view].i, j = planes[view].j, n = planes[view].n;
    plane p = plane_of(&segment->k, view);
    hf_view_out out = {.moment_to_force_mm = NAN, .sigma2_mm2 = NAN, .centre_of_rotation_mm = {NAN, NAN}};
    hf_vec3 centre = segment->plane_centre[view];
    put_pair(i, j, component(centre, i), component(centre, j), out.centre_of_resistance_mm);

    double fi = component(load.force, i), fj = component(load.force, j);
    double force = hypot(fi, fj);
    out.force_n = force;
    if (force > 0.0) {
        hf_wrench there = hf_wrench_move(load, segment->centre_mm, centre);
        fi /= force;
        fj /= force;
        out.moment_to_force_mm = fabs(component(there.moment, n)) / force;
        out.sigma2_mm2 = p.turn * (fi * fi * p.cii + 2.0 * fi * fj * p.cij + fj * fj * p.cjj);
    }
    /* Farther away than a kilometre there is no turn, only rounding. */
    double turn = component(twist.turn, n), ui = component(twist.shift, i), uj = component(twist.shift, j);
    if (fabs(turn) * 1e6 > hypot(ui, uj))
        put_pair(i, j, component(segment->centre_mm, i) - uj / turn,
            component(segment->centre_mm, j) + ui / turn, out.centre_of_rotation_mm);
    return out;
}

/* `twist` at the tooth's crest. Returns the mean pressure where the ligament is compressed. */
static double describe_tooth(
    const hf_segment *segment, const hf_tooth *tooth, hf_twist twist, hf_arena *arena, hf_tooth_out *out) {
    hf_segment alone;
    if (segment->tooth_count > 1) hf_segment_of(NULL, &tooth, 1, &alone);
    const hf_segment *own = segment->tooth_count > 1 ? &alone : segment;
    hf_vec3 crest = tooth->place.crest_mm, centre = own->centre_mm;
    hf_wrench load = hf_wrench_move(hf_mat6_apply(&tooth->k, twist), crest, centre);
    hf_twist of_centre = hf_twist_move(twist, crest, centre);
    hf_move move = hf_move_of(&own->local, of_centre);
    *out = (hf_tooth_out){
        .tooth = tooth->place.tooth,
        .centre_of_resistance_mm = centre,
        .translation_um = hf_scale(of_centre.shift, 1e3),
        .rotation_mdeg = hf_scale(of_centre.turn, 1e3 * 180.0 / M_PI),
        .movement = hf_move_words(own, &move, arena),
        .force_n = load.force,
        .moment_nmm = load.moment,
        .kind = hf_motion_of(&move),
    };
    hf_local_out local = local_load(&own->local, load);
    out->acting_n = hypot(local.mesial_n, local.buccal_n);
    if (out->kind == HF_MOTION_INTRUSION || out->kind == HF_MOTION_EXTRUSION)
        out->acting_n = fabs(local.occlusal_n);
    if (out->kind == HF_MOTION_NONE) out->acting_n = NAN;
    hf_force_window window = hf_motion_force(out->kind, tooth->root_count);
    out->recommended_low_n = window.low_n;
    out->recommended_high_n = window.high_n;
    double mean;
    hf_tooth_pressure(tooth, twist, &mean, &out->peak_kpa);
    return mean;
}

/* How much a movement is, as a length: shift and turn at the lever of hf_move. */
static double size_of(hf_twist t) {
    hf_vec3 turn = hf_scale(t.turn, HF_EV(MOVEMENT_LEVER));
    return sqrt(hf_dot(t.shift, t.shift) + hf_dot(turn, turn));
}

static void describe_teeth(
    const hf_segment *segment, hf_twist twist, const hf_twist *teeth, hf_arena *arena, hf_segment_out *out) {
    double area = 0.0, load = 0.0, apart = 0.0, largest = 0.0;
    out->teeth_movement = HF_NEW_ARRAY(arena, hf_tooth_out, segment->tooth_count);
    out->peak_kpa = 0.0;
    for (size_t i = 0; i < segment->tooth_count; i++) {
        const hf_tooth *tooth = segment->teeth[i];
        hf_twist mean = hf_twist_move(twist, segment->at_mm, tooth->place.crest_mm);
        hf_twist own = teeth ? teeth[i] : mean;
        double pressure = describe_tooth(segment, tooth, own, arena, &out->teeth_movement[i]);
        area += tooth->area_mm2;
        load += pressure * tooth->area_mm2;
        out->peak_kpa = fmax(out->peak_kpa, out->teeth_movement[i].peak_kpa);
        hf_twist off = {hf_sub(own.shift, mean.shift), hf_sub(own.turn, mean.turn)};
        apart = fmax(apart, size_of(off));
        largest = fmax(largest, size_of(own));
    }
    out->mean_kpa = area > 0.0 ? load / area : 0.0;
    out->apart = teeth && largest > 0.0 ? apart / largest : NAN;
}

void hf_segment_describe(const hf_segment *segment, hf_wrench load, hf_vec3 at, hf_twist twist,
    const hf_twist *teeth, hf_arena *arena, hf_segment_out *out) {
    int *numbers = HF_NEW_ARRAY(arena, int, segment->tooth_count);
    for (size_t i = 0; i < segment->tooth_count; i++) {
        numbers[i] = segment->teeth[i]->place.tooth;
    }
    hf_wrench about_centre = hf_wrench_move(load, at, segment->centre_mm);
    hf_twist of_centre = hf_twist_move(twist, segment->at_mm, segment->centre_mm);
    hf_move move = hf_move_of(&segment->local, of_centre);
    *out = (hf_segment_out){
        .name = segment->name,
        .teeth = numbers,
        .tooth_count = segment->tooth_count,
        .centre_of_resistance_mm = segment->centre_mm,
        .centre_radius_mm = segment->centre_radius_mm,
        .force_n = about_centre.force,
        .moment_nmm = about_centre.moment,
        .local = local_load(&segment->local, about_centre),
        .movement = hf_move_words(segment, &move, arena),
        .translation_um = hf_scale(of_centre.shift, 1e3),
        .rotation_mdeg = hf_scale(of_centre.turn, 1e3 * 180.0 / M_PI),
    };
    for (int view = 0; view < HF_VIEW_COUNT; view++) {
        out->views[view] = view_of(segment, (hf_view)view, about_centre, of_centre);
    }
    describe_teeth(segment, twist, teeth, arena, out);
}
