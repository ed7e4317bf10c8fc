#include "tooth.h"

#include <string.h>

#include "evidence.h"

bool hf_tooth_is_permanent(int tooth) {
    int quadrant = tooth / 10, position = tooth % 10;
    return quadrant >= 1 && quadrant <= 4 && position >= 1 && position <= 8;
}

hf_jaw hf_tooth_jaw(int tooth) {
    return tooth / 10 <= 2 ? HF_MAXILLA : HF_MANDIBLE;
}

bool hf_tooth_is_left(int tooth) {
    return tooth / 10 == 2 || tooth / 10 == 3;
}

int hf_tooth_slot(int tooth) {
    if (!hf_tooth_is_permanent(tooth)) return -1;
    int position = tooth % 10;
    int along = hf_tooth_is_left(tooth) ? 7 + position : 8 - position;
    return hf_tooth_jaw(tooth) == HF_MAXILLA ? along : 16 + along;
}

/* ---- quadrature over the surface of one root
 *
 * u = 1 - depth/length runs from 0 at the apex to 1 at the crest. Near the apex the integrand goes with
 * fractional powers of u; u = v^5 with Gauss-Legendre points in v flattens them. Relative error below 1e-7
 * for exponents 0.2 to 1.5 and half-widths up to half the length. Columns: u, ln u, weight for du. */
struct ring {
    double u, ln_u, weight;
};
#define RINGS 24
static const struct ring rings[RINGS] = {
    {8.06919242480498541e-14, -3.01481378959179622e+01, 1.03457625273959803e-12},
    {3.22107112265782773e-10, -2.18561369789106692e+01, 1.81829008064697113e-09},
    {2.80008538690964845e-08, -1.73910308319113049e+01, 1.00429088346132530e-07},
    {5.90805947271713554e-07, -1.43417782198677575e+01, 1.54219831764303836e-06},
    {5.90457425781860258e-06, -1.20397832095054387e+01, 1.20301256762378831e-05},
    {3.70407087815063780e-05, -1.02034930127995516e+01, 6.14244298561000151e-05},
    {1.68649682355491952e-04, -8.68768687991233435e+00, 2.33916704827126189e-04},
    {6.06589117436425536e-04, -7.40765890313378517e+00, 7.16867613417282619e-04},
    {1.81854581178342691e-03, -6.30971810178227344e+00, 1.85490939882776017e-03},
    {4.71159094971248214e-03, -5.35772964673375185e+00, 4.18465123374100155e-03},
    {1.08211532824600328e-02, -4.52625242321617272e+00, 8.41722194428540758e-03},
    {2.24438456232882513e-02, -3.79673883942359680e+00, 1.53397417203430617e-02},
    {4.26259693762453956e-02, -3.15529160167234934e+00, 2.56259304999724782e-02},
    {7.49247912415125783e-02, -2.59127045201602346e+00, 3.95776836578315000e-02},
    {1.22899258342423032e-01, -2.09639029707096780e+00, 5.68544698809843596e-02},
    {1.89357743346660612e-01, -1.66411723111262555e+00, 7.62728124031458038e-02},
    {2.75476610603058947e-01, -1.28925255198573296e+00, 9.57615249568982280e-02},
    {3.79978876760858786e-01, -9.67639615278170551e-01, 1.12533124964820597e-01},
    {4.98598818739284022e-01, -6.95953477050552105e-01, 1.23480591025505529e-01},
    {6.24035549809503931e-01, -4.71547941386922631e-01, 1.25743851398776335e-01},
    {7.46512069629434949e-01, -2.92343493842324775e-01, 1.17331279131313651e-01},
    {8.54921995854456940e-01, -1.56745047126116477e-01, 9.76480765482876240e-02},
    {9.38397957393713789e-01, -6.35811583356562099e-02, 6.77910812856715866e-02},
    {9.88025817941392437e-01, -1.20464500560635308e-02, 3.05571666290876780e-02},
};

/* The same with fewer points, error below 1e-3: enough for a pressure. */
#define PRESS_RINGS 8
static const struct ring press_rings[PRESS_RINGS] = {
    {3.08572560441637902e-09, -1.95964790032204306e+01, 3.93304403835039442e-08},
    {1.08616284922655143e-05, -1.14302743014530641e+01, 5.93955229131539901e-05},
    {7.51420054528723264e-04, -7.19354573562942967e+00, 2.48410502506625627e-03},
    {1.13450072465114335e-02, -4.47897752200999566e+00, 2.51948610898410363e-02},
    {7.25389746531624330e-02, -2.62363128014370561e+00, 1.11154046133530984e-01},
    {2.58200580874887786e-01, -1.35401855086303247e+00, 2.65478588535610793e-01},
    {5.85042404405520577e-01, -5.36070948213992593e-01, 3.62065905738043647e-01},
    {9.04589380529803533e-01, -1.00274161417202745e-01, 2.33563058624554121e-01},
};

/* Cosines of the midpoints of n equal parts of a half turn; the other half has the opposite sign. */
static const double cosines_4[] = {0.92387953251128674, 0.38268343236508977};
static const double cosines_8[] = {
    0.98078528040323043, 0.83146961230254524, 0.55557023301960218, 0.19509032201612828};
static const double cosines_16[] = {0.99518472667219693, 0.95694033573220882, 0.88192126434835505,
    0.77301045336273699, 0.63439328416364549, 0.47139673682599764, 0.29028467725446233, 0.09801714032956060};

/* A root's surface: a t cos f, b t sin f, -length (1 - u), with t = u^exponent. */
typedef struct surface {
    double a, b, length, exponent;
    double u_top, ln_u_top; /* where bone begins */
} surface;

static surface surface_of(const hf_root *root, double bone_loss_mm, double widening_mm) {
    double top = 1.0 - bone_loss_mm / root->length_mm;
    return (surface){
        .a = 0.5 * (root->mesiodistal_mm + widening_mm),
        .b = 0.5 * (root->buccolingual_mm + widening_mm),
        .length = root->length_mm,
        .exponent = root->exponent,
        .u_top = top,
        .ln_u_top = top > 0.0 ? log(top) : -INFINITY,
    };
}

/* One level of the surface. With N the normal of the parametrised surface (not of unit length; |N| du df is
 * the area) and P the point: N = (normal_x cos f, normal_y sin f, -slope), P x N = (turn_x sin f, turn_y cos
 * f, turn_z sin f cos f), |N|^2 = even + odd cos 2f. */
typedef struct level {
    double t, depth;
    double normal_x, normal_y, slope;
    double turn_x, turn_y, turn_z;
    double even, odd;
} level;

static level level_at(const surface *body, double u, double ln_u) {
    double a = body->a, b = body->b, length = body->length;
    double t = exp(body->exponent * ln_u);
    level at = {.t = t, .depth = length * (1.0 - u)};
    at.normal_x = b * length * t;
    at.normal_y = a * length * t;
    at.slope = a * b * body->exponent * t * t / u;
    at.turn_x = t * (at.depth * a * length - b * at.slope);
    at.turn_y = t * (a * at.slope - at.depth * b * length);
    at.turn_z = t * t * length * (a * a - b * b);
    double x2 = at.normal_x * at.normal_x, y2 = at.normal_y * at.normal_y;
    at.even = 0.5 * (x2 + y2) + at.slope * at.slope;
    at.odd = 0.5 * (x2 - y2);
    return at;
}

/* Means over each level of |N| times 1 and cos 2f, and of 1/|N| times 1, cos 2f and cos^2 2f. */
typedef struct level_means {
    double norm[RINGS], norm_c[RINGS], inverse[RINGS], inverse_c[RINGS], inverse_cc[RINGS];
} level_means;

/* The levels in the innermost loop, so that the processor takes several at once. */
static void add_means(const level at[RINGS], const double *cosines, int count, level_means *m) {
    double even[RINGS], odd[RINGS], k = 0.5 / count;
    for (int r = 0; r < RINGS; r++)
        even[r] = at[r].even, odd[r] = at[r].odd;
    for (int i = 0; i < count; i++) {
        double c = cosines[i];
        for (int r = 0; r < RINGS; r++) {
            double n1 = sqrt(even[r] + odd[r] * c), n2 = sqrt(even[r] - odd[r] * c);
            double q = 1.0 / (n1 * n2), i1 = n2 * q, i2 = n1 * q;
            m->norm[r] += n1 + n2;
            m->norm_c[r] += c * (n1 - n2);
            m->inverse[r] += i1 + i2;
            m->inverse_c[r] += c * (i1 - i2);
            m->inverse_cc[r] += c * c * (i1 + i2);
        }
    }
    for (int r = 0; r < RINGS; r++) {
        double weight = k * (2.0 * M_PI * rings[r].weight);
        m->norm[r] *= weight, m->norm_c[r] *= weight;
        m->inverse[r] *= weight, m->inverse_c[r] *= weight, m->inverse_cc[r] *= weight;
    }
}

/* The trapezoid rule on n parts errs by ((b-a)/(b+a))^2n. */
static int cosines_for(const surface *body, const double **cosines) {
    double flatness = fabs(body->a - body->b) / (body->a + body->b);
    *cosines = flatness < 0.1 ? cosines_4 : flatness < 0.33 ? cosines_8 : cosines_16;
    return flatness < 0.1 ? 2 : flatness < 0.33 ? 4 : 8;
}

/* The symmetry of the ellipse leaves eight entries. */
typedef struct support {
    double x, y, z, x_ry, y_rx, rx, ry, rz, area;
} support;

static void add_level(
    const surface *body, const level *at, const level_means *m, int r, double kt, double kd, support *k) {
    double w = body->u_top, norm = w * m->norm[r], norm_c = w * m->norm_c[r];
    double inverse = w * m->inverse[r], inverse_c = w * m->inverse_c[r], inverse_cc = w * m->inverse_cc[r];
    double norm_cos2 = 0.5 * (norm + norm_c), norm_sin2 = 0.5 * (norm - norm_c);
    double cos2 = 0.5 * (inverse + inverse_c), sin2 = 0.5 * (inverse - inverse_c);
    double x2 = body->a * body->a * at->t * at->t * norm_cos2;
    double y2 = body->b * body->b * at->t * at->t * norm_sin2;
    double z2 = at->depth * at->depth * norm;
    k->area += norm;
    k->x += kt * norm + kd * at->normal_x * at->normal_x * cos2;
    k->y += kt * norm + kd * at->normal_y * at->normal_y * sin2;
    k->z += kt * norm + kd * at->slope * at->slope * inverse;
    k->x_ry += -kt * at->depth * norm + kd * at->normal_x * at->turn_y * cos2;
    k->y_rx += kt * at->depth * norm + kd * at->normal_y * at->turn_x * sin2;
    k->rx += kt * (y2 + z2) + kd * at->turn_x * at->turn_x * sin2;
    k->ry += kt * (x2 + z2) + kd * at->turn_y * at->turn_y * cos2;
    k->rz += kt * (x2 + y2) + kd * at->turn_z * at->turn_z * 0.25 * (inverse - inverse_cc);
}

/* Nothing where no bone is left. */
static support support_of(const surface *body, const hf_ligament *ligament) {
    support k = {0};
    double kt = ligament->shear_modulus_mpa / ligament->thickness_mm;
    double kd = ligament->normal_modulus_mpa / ligament->thickness_mm - kt;
    const double *cosines;
    int count = cosines_for(body, &cosines);
    level at[RINGS];
    level_means m = {{0.0}, {0.0}, {0.0}, {0.0}, {0.0}};
    if (!(body->u_top > 0.0)) return k;
    for (int r = 0; r < RINGS; r++)
        at[r] = level_at(body, body->u_top * rings[r].u, body->ln_u_top + rings[r].ln_u);
    add_means(at, cosines, count, &m);
    for (int r = 0; r < RINGS; r++)
        add_level(body, &at[r], &m, r, kt, kd, &k);
    return k;
}

static hf_mat6 surface_stiffness(const surface *body, const hf_ligament *ligament, double *area_mm2) {
    support k = support_of(body, ligament);
    *area_mm2 = k.area;
    return (hf_mat6){{
        {k.x, 0.0, 0.0, 0.0, k.x_ry, 0.0},
        {0.0, k.y, 0.0, k.y_rx, 0.0, 0.0},
        {0.0, 0.0, k.z, 0.0, 0.0, 0.0},
        {0.0, k.y_rx, 0.0, k.rx, 0.0, 0.0},
        {k.x_ry, 0.0, 0.0, 0.0, k.ry, 0.0},
        {0.0, 0.0, 0.0, 0.0, 0.0, k.rz},
    }};
}

hf_mat6 hf_root_stiffness(
    const hf_root *root, double bone_loss_mm, const hf_ligament *ligament, double *area_mm2) {
    surface body = surface_of(root, bone_loss_mm, 0.0);
    double area;
    hf_mat6 k = surface_stiffness(&body, ligament, &area);
    if (area_mm2) *area_mm2 = area;
    return k;
}

/* ---- whole teeth */

static double given_or(double given, double otherwise) {
    return isnan(given) ? otherwise : given;
}

/* Root `i` when nothing is given: the table's, or for another number of roots than the table has, a root of
 * the neck's widths. */
static hf_root table_root(const hf_morphology *shape, size_t i, size_t count) {
    hf_root root = shape->roots[i < shape->root_count ? i : 0];
    if (count != shape->root_count) {
        root.mesiodistal_mm = shape->cervix_mesiodistal_mm;
        root.buccolingual_mm = shape->cervix_buccolingual_mm;
        root.offset_mm = hf_vec3_of(0.0, 0.0, 0.0);
    }
    root.length_mm -= HF_EV(NECK_TO_CREST);
    return root;
}

static void fill_roots(const hf_tooth_in *in, const hf_morphology *shape, hf_tooth *out) {
    bool given = in && in->root_count > 0;
    out->root_count = given ? in->root_count : shape->root_count;
    if (out->root_count > HF_ROOTS_MAX) out->root_count = HF_ROOTS_MAX;
    for (size_t i = 0; i < out->root_count; i++) {
        hf_root root = table_root(shape, i, out->root_count);
        if (given) {
            const hf_root *own = &in->roots[i];
            root.length_mm = given_or(own->length_mm, root.length_mm);
            root.mesiodistal_mm = given_or(own->mesiodistal_mm, root.mesiodistal_mm);
            root.buccolingual_mm = given_or(own->buccolingual_mm, root.buccolingual_mm);
            root.exponent = given_or(own->exponent, root.exponent);
            if (hf_vec3_is_given(own->offset_mm)) root.offset_mm = own->offset_mm;
        }
        out->roots[i] = root;
    }
}

static hf_mat6 whole_stiffness(hf_tooth *tooth) {
    hf_mat6 sum = {{{0.0}}};
    for (size_t i = 0; i < tooth->root_count; i++) {
        surface body = surface_of(&tooth->roots[i], tooth->bone_loss_mm, tooth->ligament.thickness_mm);
        double area;
        hf_mat6 k = surface_stiffness(&body, &tooth->ligament, &area);
        k = hf_mat6_move(&k, tooth->roots[i].offset_mm, hf_vec3_of(0.0, 0.0, 0.0));
        sum = hf_mat6_add(&sum, &k);
        tooth->area_mm2 += area;
    }
    return sum;
}

/* The same roots in the same ligament: left and right, as a rule. */
static bool same_shape(const hf_tooth *a, const hf_tooth *b) {
    return a->root_count == b->root_count && a->bone_loss_mm == b->bone_loss_mm &&
           memcmp(&a->ligament, &b->ligament, sizeof a->ligament) == 0 &&
           memcmp(a->roots, b->roots, a->root_count * sizeof *a->roots) == 0;
}

void hf_tooth_like(const hf_tooth_in *in, const hf_tooth_place *place, const hf_tooth *known,
    size_t known_count, hf_tooth *out) {
    *out = (hf_tooth){.place = *place};
    out->bone_loss_mm = in ? given_or(in->bone_loss_mm, 0.0) : 0.0;
    out->ligament = (hf_ligament){
        .thickness_mm = in ? in->ligament.thickness_mm : NAN,
        .normal_modulus_mpa = in ? in->ligament.normal_modulus_mpa : NAN,
        .shear_modulus_mpa = in ? in->ligament.shear_modulus_mpa : NAN,
    };
    hf_ligament *ligament = &out->ligament;
    ligament->thickness_mm = given_or(ligament->thickness_mm, HF_EV(LIGAMENT_THICKNESS));
    ligament->normal_modulus_mpa = given_or(ligament->normal_modulus_mpa, HF_EV(LIGAMENT_NORMAL));
    ligament->shear_modulus_mpa = given_or(ligament->shear_modulus_mpa, HF_EV(LIGAMENT_SHEAR));
    fill_roots(in, hf_morphology_of(place->tooth), out);

    size_t like = 0;
    while (like < known_count && !same_shape(&known[like], out)) {
        like++;
    }
    if (like < known_count) {
        out->local_k = known[like].local_k;
        out->area_mm2 = known[like].area_mm2;
    } else {
        out->local_k = whole_stiffness(out);
    }
    hf_axes axes = {place->mesial, place->buccal, place->coronal};
    out->k = hf_mat6_to_global(&out->local_k, &axes);
}

void hf_tooth_of(const hf_tooth_in *in, const hf_tooth_place *place, hf_tooth *out) {
    hf_tooth_like(in, place, NULL, 0, out);
}

/* ---- pressure */

typedef struct pressure_sum {
    double load, area, peak;
} pressure_sum;

/* What the root's movement (local, about its crest centre) closes the ligament by at one level, times |N|:
 * shift . N + turn . (P x N) = x cos f + y sin f + z + around sin f cos f. */
typedef struct closing {
    double x, y, z, around;
} closing;

static double normal_length(const level *at, double c, double s) {
    return sqrt(at->even + at->odd * (c * c - s * s));
}

static void note_peak(double load, double norm, pressure_sum *sum) {
    if (load > sum->peak * norm) sum->peak = load / norm;
}

/* The points (c, s), (c, -s), (-c, s), (-c, -s). Which of them are pressed is as good as random, so nothing
 * branches on it. */
static void press_four(
    const level *at, const closing *by, double c, double s, double weight, pressure_sum *sum) {
    double norm = normal_length(at, c, s);
    double x = by->x * c, y = by->y * s, around = by->around * s * c;
    double load[4] = {
        x + y + by->z + around, x - y + by->z - around, y - x + by->z - around, -x - y + by->z + around};
    double pressed = 0.0, count = 0.0, most = 0.0;
    for (int i = 0; i < 4; i++) {
        pressed += load[i] > 0.0 ? load[i] : 0.0;
        count += load[i] > 0.0 ? 1.0 : 0.0;
        most = load[i] > most ? load[i] : most;
    }
    sum->load += weight * pressed;
    sum->area += weight * norm * count;
    note_peak(most, norm, sum);
}

/* Points all round for the mean, four to a cosine; and for the peak the point whose normal lies along the
 * movement. Only where a turn about the root's own axis dominates is the peak up to 2 % low. */
static void press_level(
    const level *at, hf_twist move, const double *cosines, int count, double weight, pressure_sum *sum) {
    closing by = {
        .x = move.shift.x * at->normal_x + move.turn.y * at->turn_y,
        .y = move.shift.y * at->normal_y + move.turn.x * at->turn_x,
        .z = -move.shift.z * at->slope,
        .around = move.turn.z * at->turn_z,
    };
    for (int i = 0; i < count; i++) {
        double c = cosines[i], s = cosines[count - 1 - i];
        press_four(at, &by, c, s, weight, sum);
    }
    double c = by.x / (at->normal_x * at->normal_x), s = by.y / (at->normal_y * at->normal_y);
    double length = sqrt(c * c + s * s);
    if (length > 0.0) {
        c /= length, s /= length;
        note_peak(by.x * c + by.y * s + by.z + by.around * s * c, normal_length(at, c, s), sum);
    }
}

static void press_root(const surface *body, hf_twist move, pressure_sum *sum) {
    if (!(body->u_top > 0.0)) return;
    for (int i = 0; i < PRESS_RINGS; i++) {
        const struct ring *ring = &press_rings[i];
        level at = level_at(body, body->u_top * ring->u, body->ln_u_top + ring->ln_u);
        press_level(&at, move, cosines_8, 4, body->u_top * ring->weight, sum);
    }
    level crest = level_at(body, body->u_top, body->ln_u_top);
    press_level(&crest, move, cosines_16, 8, 0.0, sum);
}

void hf_tooth_pressure(const hf_tooth *tooth, hf_twist at_crest, double *mean_kpa, double *peak_kpa) {
    const hf_tooth_place *place = &tooth->place;
    double hand = hf_dot(hf_cross(place->mesial, place->buccal), place->coronal) < 0.0 ? -1.0 : 1.0;
    hf_vec3 v = at_crest.shift, w = hf_scale(at_crest.turn, hand);
    hf_twist local = {
        {hf_dot(v, place->mesial), hf_dot(v, place->buccal), hf_dot(v, place->coronal)},
        {hf_dot(w, place->mesial), hf_dot(w, place->buccal), hf_dot(w, place->coronal)},
    };
    pressure_sum sum = {0.0, 0.0, 0.0};
    for (size_t i = 0; i < tooth->root_count; i++) {
        surface body = surface_of(&tooth->roots[i], tooth->bone_loss_mm, tooth->ligament.thickness_mm);
        press_root(&body, hf_twist_move(local, hf_vec3_of(0.0, 0.0, 0.0), tooth->roots[i].offset_mm), &sum);
    }
    double kpa_per_mm = 1000.0 * tooth->ligament.normal_modulus_mpa / tooth->ligament.thickness_mm;
    *mean_kpa = sum.area > 0.0 ? kpa_per_mm * sum.load / sum.area : 0.0;
    *peak_kpa = kpa_per_mm * sum.peak;
}
