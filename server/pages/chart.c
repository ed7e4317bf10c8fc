#include "chart.h"

const char *hfd_chart_name(const struct hfd_chart_patient *patient, hf_arena *arena) {
    const char *family = patient->family_name, *given = patient->given_name;
    if (family && given) return hf_arena_printf(arena, "%s, %s", family, given);
    return family ? family : given ? given : patient->chart_number;
}

void hfd_chart_who(struct hfd_buf *out, const struct hfd_chart_patient *patient) {
    hfd_buf_text(out, "<p class=\"whose\">");
    if (patient->family_name || patient->given_name)
        hfd_html(out, "<strong><bdi>%s</bdi>%s<bdi>%s</bdi></strong> · ",
            patient->family_name ? patient->family_name : "",
            patient->family_name && patient->given_name ? ", " : "",
            patient->given_name ? patient->given_name : "");
    hfd_html(out, "chart <bdi>%s</bdi>", patient->chart_number);
    if (patient->age_years) hfd_html(out, " · %s years", patient->age_years);
    if (patient->sex) hfd_html(out, " · %s", patient->sex);
    if (patient->cigarettes_per_day) hfd_html(out, " · %s cigarettes a day", patient->cigarettes_per_day);
    hfd_buf_text(out, "</p>\n");
}
