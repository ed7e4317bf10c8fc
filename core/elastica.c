#include "elastica.h"

#include <math.h>

/* The wire is walked from its tip, where slope and couple are known or sought, back to the hold. Each step is
 * the Taylor series of the equation itself: one sine and one cosine a step, and the derivatives by what is
 * sought come from the same series. */

enum { ORDER = 16 };
enum { SLOPE, FORCE, COUPLE, TIP }; /* at the tip; the force along y */

/* What is held fixed and what is sought. */
typedef struct task {
    double px, give;
    double y;        /* wanted of the tip, when two are sought */
    double tip[TIP]; /* given, or where the search stands */
    int sought[2], count;
} task;

/* Where the walk stands, and its derivatives by what is sought. x and y are those of the tip seen from here.
 */
typedef struct walk {
    double theta, kappa, x, y;
    struct {
        double theta, kappa, y;
    } by[2];
    double peak_square; /* of the curvature, so far */
} walk;

/* Coefficients over one step, each already times the step's power. */
typedef struct series {
    double theta[ORDER + 3], turn[ORDER + 2]; /* turn: derivative of theta */
    double sine[ORDER + 2], cosine[ORDER + 2];
} series;

static const double inverse[ORDER + 3] = {0.0, 1.0, 1.0 / 2, 1.0 / 3, 1.0 / 4, 1.0 / 5, 1.0 / 6, 1.0 / 7,
    1.0 / 8, 1.0 / 9, 1.0 / 10, 1.0 / 11, 1.0 / 12, 1.0 / 13, 1.0 / 14, 1.0 / 15, 1.0 / 16, 1.0 / 17,
    1.0 / 18};

/* Coefficient n of a product. */
static double product(const double *a, const double *b, int n) {
    double sum = 0.0;
    for (int k = 0; k <= n; k++)
        sum += a[k] * b[n - k];
    return sum;
}

/* Value at the end of the step, small terms first. */
static double total(const double *a, int last) {
    double sum = 0.0;
    for (int n = last; n >= 0; n--)
        sum += a[n];
    return sum;
}

/* Integral over the step, in steps. */
static double area(const double *a, int last) {
    double sum = 0.0;
    for (int n = last; n >= 0; n--)
        sum += a[n] * inverse[n + 1];
    return sum;
}

static void expand(series *a, const walk *z, double px, double py, double h) {
    a->theta[0] = z->theta;
    a->theta[1] = a->turn[0] = h * z->kappa;
    a->sine[0] = sin(z->theta);
    a->cosine[0] = cos(z->theta);
    for (int n = 0; n <= ORDER; n++) {
        a->turn[n + 1] = h * h * (px * a->sine[n] - py * a->cosine[n]) * inverse[n + 1];
        a->theta[n + 2] = a->turn[n + 1] * inverse[n + 2];
        a->sine[n + 1] = product(a->turn, a->cosine, n) * inverse[n + 1];
        a->cosine[n + 1] = -product(a->turn, a->sine, n) * inverse[n + 1];
    }
}

/* eta'' = (px cos + py sin) eta, and - cos when it is the derivative by the force. */
static void expand_derivative(const series *a, walk *z, int u, const task *t, double h) {
    double push[ORDER + 1], eta[ORDER + 3], turn[ORDER + 2], height[ORDER + 1];
    double forced = t->sought[u] == FORCE ? 1.0 : 0.0;
    eta[0] = z->by[u].theta;
    eta[1] = turn[0] = h * z->by[u].kappa;
    for (int n = 0; n <= ORDER; n++) {
        push[n] = t->px * a->cosine[n] + t->tip[FORCE] * a->sine[n];
        turn[n + 1] = h * h * (product(push, eta, n) - forced * a->cosine[n]) * inverse[n + 1];
        eta[n + 2] = turn[n + 1] * inverse[n + 2];
        height[n] = product(a->cosine, eta, n);
    }
    z->by[u].theta = total(eta, ORDER + 2);
    z->by[u].kappa = total(turn, ORDER + 1) / h;
    z->by[u].y -= h * area(height, ORDER);
}

/* Between the ends the curvature peaks only where the tangent points against the force; its square there
 * follows from the first integral kappa^2/2 + px cos(theta) + py sin(theta). */
static double peak_between(const task *t, double theta, double theta_next, double energy) {
    double px = t->px, py = t->tip[FORCE];
    double here = px * sin(theta) - py * cos(theta), next = px * sin(theta_next) - py * cos(theta_next);
    bool against = px * cos(theta) + py * sin(theta) < 0.0;
    return (here > 0.0) != (next > 0.0) && against ? 2.0 * (energy + hypot(px, py)) : 0.0;
}

/* The curvature never exceeds sqrt(mu^2 + 4 |p|), which also tells how near the next pole of the solution is:
 * with steps of half that length, 16 orders leave about 1e-13. */
static int step_count(const task *t) {
    double couple = t->tip[COUPLE];
    double steepest = sqrt(couple * couple + 4.0 * hypot(t->px, t->tip[FORCE]));
    return 2 + (int)(2.0 * steepest);
}

static walk walk_to_hold(const task *t) {
    walk z = {.theta = t->tip[SLOPE], .kappa = t->tip[COUPLE]};
    for (int u = 0; u < t->count; u++) {
        z.by[u].theta = t->sought[u] == SLOPE;
        z.by[u].kappa = t->sought[u] == COUPLE;
    }
    double px = t->px, py = t->tip[FORCE];
    double energy = 0.5 * z.kappa * z.kappa + px * cos(z.theta) + py * sin(z.theta);
    int steps = step_count(t);
    double h = -1.0 / steps;
    z.peak_square = z.kappa * z.kappa;
    for (int i = 0; i < steps; i++) {
        series a;
        expand(&a, &z, px, py, h);
        for (int u = 0; u < t->count; u++)
            expand_derivative(&a, &z, u, t, h);
        double theta = total(a.theta, ORDER + 2);
        z.peak_square = fmax(z.peak_square, peak_between(t, z.theta, theta, energy));
        z.theta = theta;
        z.kappa = total(a.turn, ORDER + 1) / h;
        z.x -= h * area(a.cosine, ORDER + 1);
        z.y -= h * area(a.sine, ORDER + 1);
    }
    z.peak_square = fmax(z.peak_square, z.kappa * z.kappa);
    return z;
}

/* What is still wrong at the hold, and its derivatives: row 0 the slope there, row 1 the height of the tip.
 */
typedef struct misfit {
    double wrong[2], by[2][2];
    double determinant;
} misfit;

static misfit misfit_of(const task *t) {
    walk z = walk_to_hold(t);
    misfit m = {.wrong = {z.theta - t->give * z.kappa, z.y - t->y}};
    for (int u = 0; u < t->count; u++) {
        m.by[0][u] = z.by[u].theta - t->give * z.by[u].kappa;
        m.by[1][u] = z.by[u].y;
    }
    m.determinant = t->count == 1 ? m.by[0][0] : m.by[0][0] * m.by[1][1] - m.by[0][1] * m.by[1][0];
    return m;
}

/* Newton. True at an equilibrium that is stable: the determinant is positive without load and changes sign
 * where the wire can leave its state without any further load. */
static bool settle(task *t) {
    static const double longest[TIP] = {[SLOPE] = 1.5, [FORCE] = 10.0, [COUPLE] = 3.0};
    for (int i = 0; i < 20; i++) {
        misfit m = misfit_of(t);
        double step[2];
        if (t->count == 1) {
            step[0] = -m.wrong[0] / m.determinant;
        } else {
            step[0] = (m.by[0][1] * m.wrong[1] - m.by[1][1] * m.wrong[0]) / m.determinant;
            step[1] = (m.by[1][0] * m.wrong[0] - m.by[0][0] * m.wrong[1]) / m.determinant;
        }
        double share = 1.0, change = 0.0;
        for (int u = 0; u < t->count; u++) {
            if (!isfinite(step[u])) return false;
            share = fmin(share, longest[t->sought[u]] / fabs(step[u]));
            change = fmax(change, fabs(step[u]) / (1.0 + fabs(t->tip[t->sought[u]])));
        }
        for (int u = 0; u < t->count; u++)
            t->tip[t->sought[u]] += share * step[u];
        if (change <= 1e-10) return m.determinant > 0.0;
    }
    return false;
}

/* Up to this force the potential is convex: that of the column which buckles first. With a free tip and a
 * hold that gives, Dunkerley's bound: 1/p <= 1/p(clamped) + 1/p(rigid wire). With a given slope there, a hold
 * that gives is taken for a hinge. */
static double convex_force(const task *t) {
    bool is_guided = t->sought[0] == FORCE;
    if (is_guided) return M_PI * M_PI * (t->give > 0.0 ? 0.25 : 1.0);
    return 1.0 / (4.0 / (M_PI * M_PI) + t->give);
}

static bool is_convex(const task *t) {
    return hypot(t->px, t->tip[FORCE]) <= convex_force(t);
}

/* The step from one state to the next must be a small one, lest it ends on another branch. */
static bool is_near(const task *t, const double expected[TIP]) {
    static const double most[TIP] = {[SLOPE] = 0.25, [FORCE] = 5.0, [COUPLE] = 1.0};
    for (int u = 0; u < t->count; u++)
        if (fabs(t->tip[t->sought[u]] - expected[t->sought[u]]) > most[t->sought[u]]) return false;
    return true;
}

/* From nothing to `goal`, whose unknowns are filled in, in `stages` or more. */
static hf_elastica_status raise_to(task *goal, int stages) {
    task now = *goal;
    double rate[TIP] = {0}, before[TIP] = {0};
    double done = 0.0, stride = 1.0 / stages;
    while (done < 1.0) {
        double next = done + stride > 1.0 - 1e-9 ? 1.0 : done + stride;
        now.px = goal->px * next;
        now.y = goal->y * next;
        for (int i = 0; i < TIP; i++)
            now.tip[i] = goal->tip[i] * next;
        for (int u = 0; u < now.count; u++) {
            int i = now.sought[u];
            now.tip[i] = before[i] + rate[i] * (next - done);
        }
        double expected[TIP] = {now.tip[SLOPE], now.tip[FORCE], now.tip[COUPLE]};
        if (!settle(&now) || !(is_convex(&now) || is_near(&now, expected))) {
            stride *= 0.5;
            if (stride < 1.0 / 16384.0) return HF_ELASTICA_NONE;
            continue;
        }
        for (int i = 0; i < TIP; i++) {
            rate[i] = (now.tip[i] - before[i]) / (next - done);
            before[i] = now.tip[i];
        }
        if (!(fabs(now.tip[FORCE]) <= HF_ELASTICA_FORCE_MAX)) return HF_ELASTICA_OUTSIDE;
        done = next;
        stride = fmin(2.0 * stride, 2.0 / stages);
    }
    *goal = now;
    return is_convex(goal) ? HF_ELASTICA_ONLY : HF_ELASTICA_SEVERAL;
}

static hf_elastica nothing(void) {
    return (hf_elastica){NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN};
}

static hf_elastica describe(const task *found) {
    task t = *found;
    t.count = 0;
    walk z = walk_to_hold(&t);
    double slope = t.tip[SLOPE], py = t.tip[FORCE], mu = t.tip[COUPLE];
    /* The first integral gives the energy of bending without another quadrature. */
    double bent = 0.5 * mu * mu + t.px * (cos(slope) - z.x) + py * (sin(slope) - z.y);
    return (hf_elastica){.x = z.x,
        .y = z.y,
        .slope = slope,
        .px = t.px,
        .py = py,
        .mu = mu,
        .root_curvature = z.kappa,
        .peak_curvature = sqrt(z.peak_square),
        .energy = bent + 0.5 * t.give * z.kappa * z.kappa};
}

/* In the axes of the tip nothing is sought: the hold is where the walk ends. */
static hf_elastica describe_follower(const task *t) {
    walk z = walk_to_hold(t);
    hf_elastica e = describe(t);
    double slope = t->give * z.kappa - z.theta;
    double c = cos(slope), s = sin(slope), py = t->tip[FORCE];
    e.x = c * z.x - s * z.y;
    e.y = s * z.x + c * z.y;
    e.px = c * t->px - s * py;
    e.py = s * t->px + c * py;
    e.slope = slope;
    return e;
}

static bool is_within(double value, double most) {
    return fabs(value) <= most; /* not so for NaN */
}

static hf_elastica_status finish(hf_elastica_status status, const task *t, hf_elastica *out) {
    *out = status == HF_ELASTICA_ONLY || status == HF_ELASTICA_SEVERAL ? describe(t) : nothing();
    return status;
}

static bool is_hold_studied(const task *t) {
    return t->give >= 0.0 && t->give <= HF_ELASTICA_GIVE_MAX;
}

hf_elastica_status hf_elastica_loaded(const hf_elastica_load *load, hf_elastica *out) {
    task t = {.px = load->px,
        .give = load->give,
        .tip = {[FORCE] = load->py, [COUPLE] = load->mu},
        .sought = {SLOPE},
        .count = 1};
    double force = hypot(load->px, load->py);
    if (!is_hold_studied(&t) || !is_within(force, HF_ELASTICA_FORCE_MAX) ||
        !is_within(load->mu * (1.0 + load->give), HF_ELASTICA_TURN_MAX))
        return finish(HF_ELASTICA_OUTSIDE, &t, out);
    if (load->follower) {
        t.count = 0;
        *out = describe_follower(&t);
        return HF_ELASTICA_ONLY;
    }
    return finish(raise_to(&t, (int)ceil(fmax(force / convex_force(&t), 1.0))), &t, out);
}

/* `turn`: what is given beside the height, as rad. */
static hf_elastica_status moved(task *t, double turn, hf_elastica *out) {
    if (!is_hold_studied(t) || !is_within(turn, HF_ELASTICA_TURN_MAX) || isnan(t->y))
        return finish(HF_ELASTICA_OUTSIDE, t, out);
    if (!(fabs(t->y) < 1.0)) return finish(HF_ELASTICA_NONE, t, out);
    return finish(raise_to(t, (int)ceil(fmax(2.0 * fabs(t->y) + 0.5 * fabs(turn), 1.0))), t, out);
}

hf_elastica_status hf_elastica_deflected(double y, double mu, double give, hf_elastica *out) {
    task t = {.give = give, .y = y, .tip = {[COUPLE] = mu}, .sought = {SLOPE, FORCE}, .count = 2};
    return moved(&t, mu * (1.0 + give), out);
}

hf_elastica_status hf_elastica_guided(double y, double slope, double give, hf_elastica *out) {
    task t = {.give = give, .y = y, .tip = {[SLOPE] = slope}, .sought = {FORCE, COUPLE}, .count = 2};
    return moved(&t, slope, out);
}
