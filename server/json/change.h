/* A document with some of its members changed: what whoever asks "what if" posts. */
#ifndef HFD_CHANGE_H
#define HFD_CHANGE_H

#include <stddef.h>

#include "../../core/arena.h"

struct hfd_change {
    const char *pointer; /* of plain names and places (no ~); all but its last step is there */
    const char *value; /* JSON; what is none stands as a text, to be refused as such; NULL: the member goes */
};

/* The canonical text of the document (a well-formed object) after the changes, one upon the other. */
const char *hfd_document_change(
    const char *text, const struct hfd_change *changes, size_t count, hf_arena *arena);

#endif
