#include "movement.h"

#include <assert.h>
#include <string.h>

#include "evidence.h"

void hf_move_axes(const hf_axes *local, hf_vec3 about[3]) {
    about[0] = hf_cross(local->z, local->x);
    about[1] = hf_cross(local->z, local->y);
    about[2] = hf_cross(local->x, local->y);
}

hf_move hf_move_of(const hf_axes *local, hf_twist twist) {
    hf_vec3 about[3];
    hf_move move;
    hf_move_axes(local, about);
    move.part[HF_PART_X] = hf_dot(twist.shift, local->x);
    move.part[HF_PART_Y] = hf_dot(twist.shift, local->y);
    move.part[HF_PART_Z] = hf_dot(twist.shift, local->z);
    for (int i = 0; i < 3; i++) {
        move.part[HF_PART_TIP_X + i] = HF_EV(MOVEMENT_LEVER) * hf_dot(twist.turn, about[i]);
    }
    return move;
}

/* ---- words */

/* How the directions are called: {+x, -x, +y, -y}. */
typedef struct directions {
    const char *x[2], *y[2];
} directions;

static directions directions_of(const hf_segment *segment) {
    bool front = true, lower = false;
    for (size_t i = 0; i < segment->tooth_count; i++) {
        front &= segment->teeth[i]->place.tooth % 10 <= 3;
        lower |= hf_tooth_jaw(segment->teeth[i]->place.tooth) == HF_MANDIBLE;
    }
    const char *inner = lower ? "lingual" : "palatal";
    if (!segment->crosses_midline)
        return (directions){{"mesial", "distal"}, {front ? "labial" : "buccal", inner}};
    if (front) return (directions){{"left", "right"}, {"labial", inner}};
    return (directions){{"left", "right"}, {"anterior", "posterior"}};
}

static const char *sign_word(const char *const words[2], double value) {
    return words[value < 0.0];
}

/* A sentence that grows: the longest is under 150 bytes. */
typedef struct words {
    char text[192];
    size_t length;
} words;

static void say(words *w, const char *word) {
    size_t length = strlen(word), room = sizeof w->text - 1 - w->length;
    assert(length <= room);
    memcpy(w->text + w->length, word, length);
    w->length += length;
}

static bool say_pair(
    words *w, const char *const x[2], const char *const y[2], const bool named[2], const double by[2]) {
    if (named[0]) say(w, sign_word(x, by[0]));
    if (named[0] && named[1]) say(w, " and ");
    if (named[1]) say(w, sign_word(y, by[1]));
    return named[0] || named[1];
}

const char *hf_move_words(const hf_segment *segment, const hf_move *told, hf_arena *arena) {
    const double *move = told->part;
    double largest = 0.0;
    for (int i = 0; i < HF_PARTS; i++) {
        largest = fmax(largest, fabs(move[i]));
    }
    if (!(largest > 0.0)) return "no load";
    bool named[HF_PARTS];
    for (int i = 0; i < HF_PARTS; i++) {
        named[i] = fabs(move[i]) > HF_EV(MOVEMENT_SHARE) * largest;
    }
    directions d = directions_of(segment);
    bool shifts = named[HF_PART_X] || named[HF_PART_Y], tips = named[HF_PART_TIP_X] || named[HF_PART_TIP_Y];
    bool turns = tips || named[HF_PART_ROTATION];
    words w = {.length = 0};
    if (named[HF_PART_Z]) say(&w, move[HF_PART_Z] < 0.0 ? "intrusion" : "extrusion");
    if (named[HF_PART_Z] && shifts) say(&w, " and ");
    if (say_pair(&w, d.x, d.y, &named[HF_PART_X], &move[HF_PART_X]))
        say(&w, turns ? " movement" : " bodily movement");
    if (w.length > 0 && turns) say(&w, " with ");
    if (say_pair(&w, d.x, d.y, &named[HF_PART_TIP_X], &move[HF_PART_TIP_X])) say(&w, " crown tipping");
    if (tips && named[HF_PART_ROTATION]) say(&w, " and ");
    if (named[HF_PART_ROTATION]) {
        say(&w, "rotation of the ");
        say(&w, d.x[0]);
        say(&w, " side to ");
        say(&w, sign_word(d.y, move[HF_PART_ROTATION]));
    }
    w.text[w.length] = '\0';
    return hf_arena_strdup(arena, w.text);
}

/* ---- kinds and what each asks for */

/* A turn across the tooth counts against the shift in its own direction: the crown may go with the tooth or
 * against. */
static hf_motion across(const double *move) {
    double shift = hypot(move[HF_PART_X], move[HF_PART_Y]),
           tip = hypot(move[HF_PART_TIP_X], move[HF_PART_TIP_Y]);
    double with = move[HF_PART_X] * move[HF_PART_TIP_X] + move[HF_PART_Y] * move[HF_PART_TIP_Y];
    if (tip <= HF_EV(MOVEMENT_SHARE) * shift) return HF_MOTION_BODILY;
    return with < 0.0 ? HF_MOTION_ROOT : HF_MOTION_TIPPING;
}

hf_motion hf_motion_of(const hf_move *told) {
    const double *move = told->part;
    double sideways = hypot(move[HF_PART_X], move[HF_PART_Y]),
           tip = hypot(move[HF_PART_TIP_X], move[HF_PART_TIP_Y]);
    double axial = fabs(move[HF_PART_Z]), rotation = fabs(move[HF_PART_ROTATION]);
    double most = fmax(fmax(sideways, tip), fmax(axial, rotation));
    if (!(most > 0.0)) return HF_MOTION_NONE;
    if (axial == most) return move[HF_PART_Z] < 0.0 ? HF_MOTION_INTRUSION : HF_MOTION_EXTRUSION;
    return rotation == most ? HF_MOTION_TURNING : across(move);
}

const char *const hf_motion_names[HF_MOTION_COUNT] = {
    [HF_MOTION_NONE] = "none",
    [HF_MOTION_INTRUSION] = "intrusion",
    [HF_MOTION_EXTRUSION] = "extrusion",
    [HF_MOTION_TIPPING] = "tipping",
    [HF_MOTION_BODILY] = "bodily movement",
    [HF_MOTION_ROOT] = "root movement",
    [HF_MOTION_TURNING] = "rotation",
};

hf_force_window hf_motion_force(hf_motion kind, size_t root_count) {
    static const hf_ev rows[HF_MOTION_COUNT] = {
        [HF_MOTION_INTRUSION] = HF_EV_TOOTH_FORCE_INTRUSION,
        [HF_MOTION_EXTRUSION] = HF_EV_TOOTH_FORCE_EXTRUSION,
        [HF_MOTION_TIPPING] = HF_EV_TOOTH_FORCE_TIPPING,
        [HF_MOTION_BODILY] = HF_EV_TOOTH_FORCE_BODILY,
        [HF_MOTION_ROOT] = HF_EV_TOOTH_FORCE_ROOT,
        [HF_MOTION_TURNING] = HF_EV_TOOTH_FORCE_ROTATION,
    };
    if (kind == HF_MOTION_NONE) return (hf_force_window){NAN, NAN, NULL};
    const hf_evidence *row = &hf_evidence_table[rows[kind]];
    double roots = kind == HF_MOTION_INTRUSION ? (double)root_count : 1.0;
    return (hf_force_window){roots * row->low, roots * row->high, row->source};
}
