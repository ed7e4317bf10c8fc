/* One table of fields describes a JSON object and the C struct it stands for; it drives decoding (every fault
 * at once, each with its pointer) and encoding. The unit of a quantity is the end of its name (units.h). */
#ifndef HFD_FIELD_H
#define HFD_FIELD_H

#include <stddef.h>

#include "../../core/limits.h"

enum hfd_field_kind {
    HFD_FIELD_BOOL,   /* bool; written always */
    HFD_FIELD_FLAG,   /* int: 0, 1, left out HF_ABSENT; true or false in JSON */
    HFD_FIELD_INT,    /* int; HF_ABSENT */
    HFD_FIELD_REAL,   /* double; NAN */
    HFD_FIELD_REALS,  /* double[count], also hf_vec3; first NAN */
    HFD_FIELD_TEXT,   /* const char *; NULL */
    HFD_FIELD_DATE,   /* int, days since 1970-01-01; HF_ABSENT */
    HFD_FIELD_ENUM,   /* int, the place in `names`; one that names nothing is left out */
    HFD_FIELD_WORD,   /* bool: the word names[0] stands there */
    HFD_FIELD_TOOTH,  /* int, ISO 3950 number, text in JSON; HF_ABSENT */
    HFD_FIELD_TEETH,  /* int[count] of those */
    HFD_FIELD_OBJECT, /* the struct of `table` at this place */
    HFD_FIELD_EITHER, /* one of the fields of `table`, by the JSON value's type; same struct (`at` moves it)
                       */
    HFD_FIELD_LIST,   /* pointer, and size_t at count_at: structs of `table`, or values of kind `item` */
    /* written only */
    HFD_FIELD_MAP,   /* a list whose structs are written as one object: first field the name, second the value
                      */
    HFD_FIELD_LENGTH /* length of a double[3] times `scale` */
};

enum hfd_field_flag {
    HFD_FIELD_REQUIRED = 1,    /* of what is computed: told whatever comes out */
    HFD_FIELD_KEY = 2,         /* its presence makes the choice */
    HFD_FIELD_SINGLE = 4,      /* LIST: one object stands for a list of one; written only then */
    HFD_FIELD_SEVERAL = 8,     /* LIST: not written when a SINGLE sibling is */
    HFD_FIELD_OMIT_EMPTY = 16, /* LIST: not written when empty */
    HFD_FIELD_WHOLE = 32       /* only in the whole answer */
};

#define HFD_NOWHERE ((size_t)-1) /* `at` of a member that is checked and not kept */
#define HFD_CHOICE(value) ((value) + 1)

struct hfd_table;

struct hfd_field {
    const char *name;
    enum hfd_field_kind kind;
    unsigned flags;
    size_t at, count_at;
    size_t count;             /* of REALS and TEETH */
    enum hfd_field_kind item; /* of a LIST without table */
    hf_limit limit;           /* of the value, of each component, or of a list's length */
    const char *const *names; /* ENUM, WORD: NULL-ended; "" stands for a value that has no name */
    const struct hfd_table *table;
    int choice;           /* HFD_CHOICE(v): belongs to the choice v alone; 0: to all */
    const char *excludes; /* a member that may not stand beside this one */
    const char *needs;    /* a member that must stand beside this one */
    const char *when;     /* alternative of an EITHER: only an object that has this member */
    size_t present_at;    /* offset of a bool that says it was there; 0: none */
    double scale;         /* of LENGTH */
    const char *what;     /* one line, for messages and for the public description */
};

struct hfd_decoder;
struct hfd_path;

struct hfd_table {
    const char *what;
    const struct hfd_field *fields;
    size_t count;
    size_t size;              /* of the C struct; 0: checked and not kept */
    void (*init)(void *item); /* the state of an item with everything left out; NULL: zeroes */
    bool choose;              /* exactly one KEY field; its choice goes to choice_at */
    size_t choice_at;
    /* Rules between members. Called also when single members are at fault: those are then left out. */
    void (*check)(const struct hfd_decoder *decoder, const struct hfd_path *path, const void *item);
};

#define HFD_FIELDS(array) .fields = (array), .count = sizeof(array) / sizeof(array)[0]

#endif
