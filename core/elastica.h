/* Large bending of a straight wire in its plane: inextensible, of constant bending stiffness EI, held at s =
 * 0 along +x, loaded at its tip (Bisshopp, Drucker, Q Appl Math 1945;3:272):
 *
 *     theta'' = px sin(theta) - py cos(theta),  theta(0) = give theta'(0),  theta'(1) = mu
 *
 * Without units: lengths over L, curvatures times L, forces over EI/L^2, couples and energy over EI/L. Slopes
 * and couples are positive from +x to +y. */
#ifndef HF_ELASTICA_H
#define HF_ELASTICA_H

#include <stdbool.h>

/* What is studied; beyond it nothing is solved. Turn, in rad: a slope that is given, or mu (1 + give), what a
 * given couple does alone. */
#define HF_ELASTICA_FORCE_MAX 25.0
#define HF_ELASTICA_GIVE_MAX 3.0
#define HF_ELASTICA_TURN_MAX 2.4

typedef enum hf_elastica_status {
    /* Solved, and no other equilibrium exists under this force (of a prescribed height: none of less energy).
     * Told where the potential is convex: |p| <= 1/(4/pi^2 + give); of a guided tip |p| <= pi^2, or pi^2/4 on
     * a hold that gives. Of a follower force: always the only one. */
    HF_ELASTICA_ONLY,
    /* Solved: the equilibrium that is reached by raising load or deflection steadily from nothing. The force
     * is beyond that bound, so others may exist (the wire may have been pushed over to another side). */
    HF_ELASTICA_SEVERAL,
    /* No equilibrium is reached so: on the way the wire buckles or snaps, or the tip is wanted farther out
     * than the wire is long. */
    HF_ELASTICA_NONE,
    HF_ELASTICA_OUTSIDE /* load, slope or give not given or beyond the studied range, or the answer is */
} hf_elastica_status;

typedef struct hf_elastica_load {
    double px, py; /* force on the tip; of a follower along the tip's tangent and normal */
    double mu;     /* couple on the tip */
    double give;   /* turn of the hold per couple at the root, >= 0; 0 = clamped */
    bool follower; /* the force turns with the tip */
} hf_elastica_load;

typedef struct hf_elastica {
    double x, y, slope;    /* of the tip; slope in rad */
    double px, py, mu;     /* on the tip, along the axes of the hold */
    double root_curvature; /* also the couple that the wire puts on its hold: mu + x py - y px */
    double peak_curvature; /* greatest magnitude anywhere on the wire */
    double energy;         /* of bending, and of the turned hold */
} hf_elastica;

/* Each gives the state in *out, or all NAN there when nothing was solved (NONE, OUTSIDE). */

/* The load is given. */
hf_elastica_status hf_elastica_loaded(const hf_elastica_load *load, hf_elastica *out);
/* The tip is brought to the height y by a force along y alone and carries the couple mu. */
hf_elastica_status hf_elastica_deflected(double y, double mu, double give, hf_elastica *out);
/* The tip is brought to the height y and the slope (rad) by a force along y alone and a couple. */
hf_elastica_status hf_elastica_guided(double y, double slope, double give, hf_elastica *out);

#endif
