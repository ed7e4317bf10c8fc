/* What may be asked of a case, and the changes of its document that this comes to. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "../../core/element.h"
#include "../base/date.h"
#include "../base/num.h"
#include "what_if.h"

static const int most_days = 3650;

struct list {
    struct hfd_asked *fields;
    size_t count;
    hf_arena *arena;
};

static void add(struct list *list, struct hfd_asked field) {
    field.text = field.recorded;
    list->fields[list->count++] = field;
}

/* A thousandth is more than a gauge tells. */
static const char *shown(double value, hf_arena *arena) {
    char text[HFD_NUM_MAX];
    if (isnan(value)) return "";
    hfd_num_print12(text, round(value * 1000.0) / 1000.0);
    return hf_arena_strdup(arena, text);
}

static void add_forces(struct list *list, const hf_case *in) {
    for (size_t e = 0; e < in->element_count; e++)
        if (hf_element_traits[in->elements[e].kind].pulls)
            add(list, (struct hfd_asked){.kind = HFD_ASKED_FORCE,
                          .name = hf_arena_printf(list->arena, "/elements/%zu/force_n", e),
                          .of = in->elements[e].name,
                          .recorded = shown(in->elements[e].force_n, list->arena),
                          .index = e});
}

/* Where a node is: as told, or as its place in the words of the chair was understood, by the digits that the
 * answer tells. */
static hf_vec3 place_of(const hf_point *at, const char *pointer, const hf_answer *answer) {
    if (at->kind == HF_POINT_XYZ) return at->xyz_mm;
    for (size_t i = 0; i < answer->assumed_count; i++) {
        if (answer->assumed[i].kind != HF_ASSUMED_VEC3 || strcmp(answer->assumed[i].pointer, pointer) != 0)
            continue;
        double axes[3] = {answer->assumed[i].vec3.x, answer->assumed[i].vec3.y, answer->assumed[i].vec3.z};
        for (int k = 0; k < 3; k++) {
            char text[HFD_NUM_MAX];
            hfd_num_print12(text, axes[k]);
            axes[k] = strtod(text, NULL);
        }
        return hf_vec3_of(axes[0], axes[1], axes[2]);
    }
    return hf_vec3_absent();
}

static bool carries_fitting(const hf_plate_in *plate, const char *node) {
    for (size_t f = 0; f < plate->fitting_count; f++)
        if (strcmp(plate->fittings[f].node, node) == 0) return true;
    return false;
}

static void add_moves(struct list *list, const hf_plate_in *plate, size_t p, const hf_answer *answer) {
    for (size_t n = 0; n < plate->node_count; n++) {
        const hf_node_in *node = &plate->nodes[n];
        const char *pointer = hf_arena_printf(list->arena, "/plates/%zu/nodes/%zu/at_mm", p, n);
        if (!carries_fitting(plate, node->name)) continue;
        const hf_vec3 at = place_of(&node->at, pointer, answer);
        const double from[3] = {at.x, at.y, at.z};
        for (int axis = 0; axis < 3 && hf_vec3_is_given(at); axis++)
            add(list, (struct hfd_asked){.kind = HFD_ASKED_MOVE,
                          .name = hf_arena_printf(list->arena, "%s/%d", pointer, axis),
                          .of = node->name,
                          .recorded = "0",
                          .plate = p,
                          .index = n,
                          .axis = axis,
                          .from_mm = from[axis]});
    }
}

struct hfd_asked *hfd_what_if_fields(
    const hf_case *in, const hf_answer *answer, hf_arena *arena, size_t *count) {
    size_t most = in->element_count + in->screw_count + 1;
    for (size_t p = 0; p < in->plate_count; p++)
        most += 3 * in->plates[p].node_count;
    struct list list = {HF_NEW_ARRAY(arena, struct hfd_asked, most), 0, arena};
    add_forces(&list, in);
    for (size_t p = 0; p < in->plate_count; p++)
        add_moves(&list, &in->plates[p], p, answer);
    for (size_t s = 0; s < in->screw_count; s++)
        add(&list, (struct hfd_asked){.kind = HFD_ASKED_WITHOUT,
                       .name = hf_arena_printf(arena, "/screws/%zu", s),
                       .of = in->screws[s].name,
                       .recorded = "",
                       .index = s});
    add(&list, (struct hfd_asked){.kind = HFD_ASKED_DAYS, .name = "days", .recorded = "0"});
    *count = list.count;
    return list.fields;
}

/* ---------------------------------------------------------------- changes */

struct changes {
    const hf_case *in;
    struct hfd_change *list;
    size_t count;
    hf_arena *arena;
};

static bool is_asked(const struct hfd_asked *field) {
    return strcmp(field->text, field->recorded) != 0;
}

static void change(struct changes *changes, const char *pointer, const char *value) {
    changes->list[changes->count++] = (struct hfd_change){pointer, value};
}

/* The node's three fields from this one on: numbers are added, what is none stands there to be refused. */
static void move(struct changes *changes, const struct hfd_asked *field) {
    struct hfd_buf at;
    if (!is_asked(&field[0]) && !is_asked(&field[1]) && !is_asked(&field[2])) return;
    hfd_buf_init(&at, changes->arena, 64);
    for (int axis = 0; axis < 3; axis++) {
        const char *text = field[axis].text;
        char *end;
        const double by = strtod(text, &end);
        hfd_buf_char(&at, axis == 0 ? '[' : ',');
        if (end == text || *end != '\0' || strspn(text, "0123456789+-.eE") != strlen(text) || !isfinite(by))
            hfd_buf_json_string(&at, text);
        else
            hfd_buf_json_real(&at, field[axis].from_mm + by);
    }
    hfd_buf_char(&at, ']');
    const char *node = field->name;
    change(changes, hf_arena_printf(changes->arena, "%.*s", (int)(strrchr(node, '/') - node), node), at.text);
}

static void postpone(struct changes *changes, struct hfd_asked *field) {
    char *end, date[HFD_DATE_TEXT];
    const long days = strtol(field->text, &end, 10);
    if (strspn(field->text, "0123456789") != strlen(field->text) || end == field->text || days > most_days) {
        field->fault =
            hf_arena_printf(changes->arena, "expected a whole number of days from 0 to %d", most_days);
        return;
    }
    hfd_date_print(changes->in->on + (int)days, date);
    if (days > 0) change(changes, "/on", hf_arena_printf(changes->arena, "\"%s\"", date));
}

static bool is_out(
    const struct changes *changes, const struct hfd_asked *fields, size_t count, const char *screw) {
    for (size_t i = 0; i < count; i++)
        if (fields[i].kind == HFD_ASKED_WITHOUT && is_asked(&fields[i]) &&
            strcmp(changes->in->screws[fields[i].index].name, screw) == 0)
            return true;
    return false;
}

/* A screw that is out has no seat either. From the last to the first, so that places stay true. */
static void take_out(struct changes *changes, const struct hfd_asked *fields, size_t count) {
    const hf_case *in = changes->in;
    for (size_t p = 0; p < in->plate_count; p++)
        for (size_t s = in->plates[p].seat_count; s-- > 0;)
            if (is_out(changes, fields, count, in->plates[p].seats[s].screw))
                change(changes, hf_arena_printf(changes->arena, "/plates/%zu/seats/%zu", p, s), NULL);
    for (size_t s = in->screw_count; s-- > 0;)
        if (is_out(changes, fields, count, in->screws[s].name))
            change(changes, hf_arena_printf(changes->arena, "/screws/%zu", s), NULL);
}

struct hfd_change *hfd_what_if_changes(
    const hf_case *in, struct hfd_asked *fields, size_t field_count, hf_arena *arena, size_t *count) {
    size_t most = field_count + in->screw_count;
    for (size_t p = 0; p < in->plate_count; p++)
        most += in->plates[p].seat_count;
    struct changes changes = {in, HF_NEW_ARRAY(arena, struct hfd_change, most), 0, arena};
    for (size_t i = 0; i < field_count; i++) {
        if (fields[i].kind == HFD_ASKED_FORCE && is_asked(&fields[i]))
            change(&changes, fields[i].name, fields[i].text);
        if (fields[i].kind == HFD_ASKED_MOVE && fields[i].axis == 0) move(&changes, &fields[i]);
        if (fields[i].kind == HFD_ASKED_DAYS) postpone(&changes, &fields[i]);
    }
    take_out(&changes, fields, field_count);
    *count = changes.count;
    return changes.list;
}

/* ---------------------------------------------------------------- faults */

/* Is the fault one of this value, of something in it, or of what it is the least part of? */
static bool is_about(const char *pointer, const char *name) {
    const size_t length = strlen(name), above = (size_t)(strrchr(name, '/') - name);
    if (strncmp(pointer, name, length) == 0 && (pointer[length] == '\0' || pointer[length] == '/'))
        return true;
    return strncmp(pointer, name, above) == 0 && pointer[above] == '\0';
}

static struct hfd_asked *at_fault(struct hfd_asked *fields, size_t count, const char *pointer) {
    for (size_t i = 0; pointer != NULL && i < count; i++) {
        const bool typed = fields[i].kind == HFD_ASKED_FORCE || fields[i].kind == HFD_ASKED_MOVE;
        if (typed && is_about(pointer, fields[i].name)) return &fields[i];
    }
    return NULL;
}

struct hfd_errors hfd_what_if_blame(struct hfd_asked *fields, size_t count, const struct hfd_errors *errors) {
    struct hfd_errors rest;
    hfd_errors_init(&rest, errors->arena);
    for (const struct hfd_error *error = errors->first; error != NULL; error = error->next) {
        struct hfd_asked *field = at_fault(fields, count, error->pointer);
        if (field == NULL || field->fault != NULL)
            hfd_errors_add(&rest, error->pointer, "%s", error->detail);
        else
            field->fault = error->detail;
    }
    return rest;
}
