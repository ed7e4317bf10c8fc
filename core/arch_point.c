#include "arch.h"
#include "evidence.h"

/* Points told as a clinician says them. */

/* The palatal vault: a surface over the occlusal plane, chosen for this project (no publication gives it),
 *     z = H (r + (1 - r) rise(y) (1 - (x / w(y))^2)),   rise = sin^2(pi/2 min(1, y / (s D)))
 * with the height H, the gum line at the share r of it, level at the incisors and at its full height from the
 * share s of the arch's depth on; across, a parabola over the half-width w of the arch line, drawn in by a
 * tooth's thickness m: w = (W/2 - m) sin t with cos^1.6 t = 1 - (y - m)/(D - m). */
static bool vault(const hf_arch *arch, double x, double y, hf_vec3 *at, hf_vec3 *normal) {
    double margin = HF_EV(PALATE_MARGIN), rim = HF_EV(PALATE_RIM), power = 2.0 * HF_EV(ARCH_EXPONENT);
    double inner_depth = arch->depth_mm - margin, behind = (y - margin) / inner_depth;
    if (!(inner_depth > 0.0 && behind > 0.0 && behind <= 1.0)) return false;
    double cos2 = pow(1.0 - behind, 2.0 / power), sine = sqrt(1.0 - cos2);
    double half = 0.5 * arch->width_mm - margin, w = half * sine;
    if (!(fabs(x) < w)) return false;
    double dw = half * pow(1.0 - behind, 2.0 / power - 1.0) / (power * inner_depth * sine);

    double run = y / (HF_EV(PALATE_TOP) * arch->depth_mm), angle = 0.5 * M_PI * fmin(run, 1.0);
    double rise = sin(angle) * sin(angle);
    double drise = run < 1.0 ? M_PI * sin(angle) * cos(angle) * run / y : 0.0;
    double across = 1.0 - (x / w) * (x / w), height = arch->vault_height_mm * (1.0 - rim);
    *at = hf_vec3_of(x, y, arch->vault_height_mm * rim + height * rise * across);
    double dx = -2.0 * height * rise * x / (w * w);
    double dy = height * (drise * across + rise * 2.0 * (x / w) * (x / w) * dw / w);
    *normal = hf_unit(hf_vec3_of(dx, dy, -1.0));
    return true;
}

static double or_zero(double given) {
    return isnan(given) ? 0.0 : given;
}

static bool near_tooth(const hf_arches *arches, const hf_point *point, const char *pointer, hf_report *report,
    hf_vec3 *at, hf_vec3 *normal) {
    int slot = hf_tooth_slot(point->tooth);
    if (slot < 0) {
        hf_report_problem(report, hf_arena_printf(report->arena, "%s/near", pointer),
            "%d is no permanent tooth of ISO 3950 (11 to 48)", point->tooth);
        return false;
    }
    const hf_tooth_place *place = &arches->place[slot];
    double buccal = or_zero(point->buccal_mm);
    *at = hf_add_scaled(place->crown_mm, place->mesial, or_zero(point->mesial_mm));
    *at = hf_add_scaled(*at, place->buccal, buccal);
    *at = hf_add_scaled(*at, place->coronal, or_zero(point->occlusal_mm));
    *normal = hf_scale(place->buccal, buccal < 0.0 ? -1.0 : 1.0);
    hf_report_assume_vec3(report, pointer, *at, "crown centre and directions of the tooth");
    return true;
}

static bool on_palate(const hf_arches *arches, const hf_point *point, const char *pointer, hf_report *report,
    hf_vec3 *at, hf_vec3 *normal) {
    double right = or_zero(point->right_mm);
    if (!vault(&arches->arch[HF_MAXILLA], -right, point->behind_incisors_mm, at, normal)) {
        hf_report_problem(report, hf_arena_printf(report->arena, "%s/palate", pointer),
            "the point lies outside the palatal vault of the upper arch");
        return false;
    }
    *at = hf_add_scaled(*at, *normal, or_zero(point->clear_mm));
    hf_report_assume_vec3(report, pointer, *at, "palatal vault of the upper arch");
    return true;
}

/* The bone follows the necks' buccal faces; it does not taper with the roots. */
static bool in_vestibule(const hf_arches *arches, const hf_point *point, const char *pointer,
    hf_report *report, hf_vec3 *at, hf_vec3 *normal) {
    int one = hf_tooth_slot(point->between[0]), two = hf_tooth_slot(point->between[1]);
    if (one < 0 || two < 0 || one / 16 != two / 16 || (one - two != 1 && two - one != 1)) {
        hf_report_problem(report, hf_arena_printf(report->arena, "%s/vestibule/between", pointer),
            "two neighbouring teeth of one jaw are needed");
        return false;
    }
    const hf_tooth_place *a = &arches->place[one], *b = &arches->place[two];
    double neck = 0.25 * (hf_morphology_of(a->tooth)->cervix_buccolingual_mm +
                             hf_morphology_of(b->tooth)->cervix_buccolingual_mm);
    hf_vec3 coronal = hf_unit(hf_add(a->coronal, b->coronal));
    *normal = hf_unit(hf_perpendicular(hf_add(a->buccal, b->buccal), coronal));
    *at = hf_scale(hf_add(a->crest_mm, b->crest_mm), 0.5);
    *at = hf_add_scaled(*at, coronal, -or_zero(point->apical_mm));
    *at = hf_add_scaled(*at, *normal, neck + HF_EV(BUCCAL_BONE) + or_zero(point->clear_mm));
    hf_report_assume_vec3(report, pointer, *at, "buccal bone between the two teeth");
    return true;
}

typedef bool (*point_law)(
    const hf_arches *, const hf_point *, const char *pointer, hf_report *, hf_vec3 *at, hf_vec3 *normal);
static const point_law laws[] = {
    [HF_POINT_NEAR] = near_tooth, [HF_POINT_PALATE] = on_palate, [HF_POINT_VESTIBULE] = in_vestibule};

bool hf_arches_point(const hf_arches *arches, const hf_point *point, const char *pointer, hf_report *report,
    hf_vec3 *at_mm, hf_vec3 *normal) {
    hf_vec3 ignored;
    if (!normal) normal = &ignored;
    *normal = hf_vec3_absent();
    if (point->kind == HF_POINT_NONE) {
        hf_report_problem(report, pointer, "a point is needed here");
        return false;
    }
    if (point->kind != HF_POINT_XYZ) return laws[point->kind](arches, point, pointer, report, at_mm, normal);
    *at_mm = point->xyz_mm;
    return true;
}
