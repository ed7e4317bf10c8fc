/* Words beside what they are about: set where nothing else is written, as near as may be, with a line to
 * their place when they had to go further. */
#ifndef HFD_LABEL_H
#define HFD_LABEL_H

#include "text.h"
#include "view.h"

#define HFD_LABEL_LINES 3

struct hfd_label {
    struct hfd_at at; /* what it is about */
    const char *classes;
    const char *lines[HFD_LABEL_LINES]; /* NULL-ended when fewer */
    const char *title;                  /* the whole of a clipped text; NULL: none */
    bool on_it;                         /* its best place is the very point */
    bool or_nowhere;                    /* … and its only one */
};

struct hfd_labels;

/* Of a picture this wide and high. */
struct hfd_labels *hfd_labels_of(hf_arena *arena, double width, double height);
/* The line should not be written upon. */
void hfd_labels_avoid(struct hfd_labels *labels, struct hfd_at from, struct hfd_at to);
void hfd_labels_add(struct hfd_labels *labels, struct hfd_label label);
/* Nothing may be written there. */
void hfd_labels_take(struct hfd_labels *labels, struct hfd_box box);
/* Writes them, those first that were added first. Returns how many found no room, without those that had one
 * place only. */
size_t hfd_labels_write(struct hfd_labels *labels, struct hfd_svg *svg);

#endif
