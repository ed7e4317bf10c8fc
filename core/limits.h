/* The admissible range of every input, in one place: what the service takes at all. Wide enough for real life
 * and for checking cases; a value inside may still be outside a model's studied range, which is a finding,
 * not a refusal. */
#ifndef HF_LIMITS_H
#define HF_LIMITS_H

#include <stdbool.h>

typedef enum hf_limit {
    HF_LIMIT_NONE, /* any finite number */
    HF_LIMIT_COORDINATE,
    HF_LIMIT_DIRECTION,
    HF_LIMIT_OFFSET,
    HF_LIMIT_TILT,
    HF_LIMIT_ARCH_WIDTH,
    HF_LIMIT_ARCH_DEPTH,
    HF_LIMIT_VAULT_HEIGHT,
    HF_LIMIT_PALATE_DEPTH,
    HF_LIMIT_BONE_LOSS,
    HF_LIMIT_ROOT_LENGTH,
    HF_LIMIT_ROOT_WIDTH,
    HF_LIMIT_ROOT_EXPONENT,
    HF_LIMIT_LIGAMENT_THICKNESS,
    HF_LIMIT_LIGAMENT_MODULUS,
    HF_LIMIT_BAR_SIZE,
    HF_LIMIT_WIRE_SIZE,
    HF_LIMIT_MODULUS,
    HF_LIMIT_POISSON,
    HF_LIMIT_YIELD,
    HF_LIMIT_SCREW_DIAMETER,
    HF_LIMIT_SCREW_CORE,
    HF_LIMIT_SCREW_LENGTH,
    HF_LIMIT_THREAD_PITCH,
    HF_LIMIT_TISSUE,
    HF_LIMIT_STAND_OFF,
    HF_LIMIT_CORTEX,
    HF_LIMIT_CORTEX_MODULUS,
    HF_LIMIT_CANCELLOUS_MODULUS,
    HF_LIMIT_INTERFACE_FACTOR,
    HF_LIMIT_INSERTION_TORQUE,
    HF_LIMIT_ROOT_DISTANCE,
    HF_LIMIT_GRADE,
    HF_LIMIT_SCREWS_PLACED_BEFORE,
    HF_LIMIT_TISSUE_GAP,
    HF_LIMIT_TENSION,
    HF_LIMIT_APPLIED_FORCE,
    HF_LIMIT_APPLIED_MOMENT,
    HF_LIMIT_REMAINING_SHARE,
    HF_LIMIT_HOURS_PER_DAY,
    HF_LIMIT_READING_TIME,
    HF_LIMIT_REST_LENGTH,
    HF_LIMIT_EXTENSION,
    HF_LIMIT_STRETCH_POWER,
    HF_LIMIT_SPRING_RATE,
    HF_LIMIT_SPRING_TAIL,
    HF_LIMIT_SPRING_WIRE,
    HF_LIMIT_LUMEN,
    HF_LIMIT_TURNS,
    HF_LIMIT_CANTILEVER_LENGTH,
    HF_LIMIT_HELIX,
    HF_LIMIT_LOSS,
    HF_LIMIT_OWN_SCREWS,
    HF_LIMIT_AGE,
    HF_LIMIT_CIGARETTES,
    HF_LIMIT_HORIZON,
    HF_LIMIT_MEASURE,
    HF_LIMIT_ANGLE,
    HF_LIMIT_SCORE,
    HF_LIMIT_SAMPLES,
    HF_LIMIT_SEED,
    HF_LIMIT_DRAWN,
    /* lengths of lists */
    HF_LIMIT_TEETH,
    HF_LIMIT_ROOTS,
    HF_LIMIT_SEGMENTS,
    HF_LIMIT_SITES,
    HF_LIMIT_SCREWS,
    HF_LIMIT_PLATES,
    HF_LIMIT_NODES,
    HF_LIMIT_ALL_NODES,
    HF_LIMIT_BARS,
    HF_LIMIT_SEATS,
    HF_LIMIT_FITTINGS,
    HF_LIMIT_ELEMENTS,
    HF_LIMIT_VARIANTS,
    HF_LIMIT_GOALS,
    HF_LIMIT_STAGES,
    HF_LIMIT_ACTIONS,
    HF_LIMIT_IDENTIFIERS,
    HF_LIMIT_COUNT
} hf_limit;

typedef struct hf_limit_range {
    double low, high; /* both allowed */
    const char *unit; /* "" for a bare number */
    const char *what;
} hf_limit_range;

extern const hf_limit_range hf_limits[HF_LIMIT_COUNT];

/* False for NaN. */
bool hf_limit_allows(hf_limit limit, double value);

#endif
