/* Asking the core's models from JSON; see ask.c. */
#ifndef HF_ASK_H
#define HF_ASK_H

#include <jansson.h>

#include "../../core/frame.h"

/* A vector in the format of ask_take. */
#define VEC3 "[FFF!]"

/* Tells the fault and ends the program. */
_Noreturn void ask_refuse(const char *what, const char *detail);
/* json_unpack in which every member of `in` must be asked for; anything else is refused. */
void ask_take(json_t *in, const char *format, ...);
/* null when it is not finite. */
json_t *ask_number(double x);
json_t *ask_vector(hf_vec3 v);
hf_section ask_section(json_t *in, double poisson);

json_t *ask_frame(json_t *in);

#endif
