#include "seed.h"

/* Everything here is invented; forces, intervals and sites are what is common practice. */

/* Two chains to each side's molars. One text for the visits, which differ in force and day. */
#define MOLAR_CHAINS(grams, day)                                                                             \
    "'elements': ["                                                                                          \
    "{'name': 'chain to 16', 'kind': 'chain', 'from': {'fitting': 'right hook'}, "                           \
    "'to': {'tooth': '16', 'at': 'palatal-attachment'}, 'force_n': {'value': " grams ", 'unit': 'gf'}, "     \
    "'activated_on': '" day "'}, "                                                                           \
    "{'name': 'chain to 17', 'kind': 'chain', 'from': {'fitting': 'right hook'}, "                           \
    "'to': {'tooth': '17', 'at': 'palatal-attachment'}, 'force_n': {'value': " grams ", 'unit': 'gf'}, "     \
    "'activated_on': '" day "'}, "                                                                           \
    "{'name': 'chain to 26', 'kind': 'chain', 'from': {'fitting': 'left hook'}, "                            \
    "'to': {'tooth': '26', 'at': 'palatal-attachment'}, 'force_n': {'value': " grams ", 'unit': 'gf'}, "     \
    "'activated_on': '" day "'}, "                                                                           \
    "{'name': 'chain to 27', 'kind': 'chain', 'from': {'fitting': 'left hook'}, "                            \
    "'to': {'tooth': '27', 'at': 'palatal-attachment'}, 'force_n': {'value': " grams ", 'unit': 'gf'}, "     \
    "'activated_on': '" day "'}]"

/* A bar across two paramedian screws with an arm and a hook on each side; the hooks lie `behind` the
 * incisors. */
#define PALATAL_PLATE(right, left, behind)                                                                           \
    "'material': 'titanium-grade-4', 'nodes': ["                                                                     \
    "{'name': 'right seat', 'at_mm': {'palate': {'right_mm': 4, 'behind_incisors_mm': 26}}, 'tissue_gap_mm': 1.2}, " \
    "{'name': 'left seat', 'at_mm': {'palate': {'right_mm': -4, 'behind_incisors_mm': 26}}, 'tissue_gap_mm': 1.2}, " \
    "{'name': 'right hook', 'at_mm': {'palate': {'right_mm': 13, 'behind_incisors_mm': " behind "}}, "               \
    "'tissue_gap_mm': 1.5}, "                                                                                        \
    "{'name': 'left hook', 'at_mm': {'palate': {'right_mm': -13, 'behind_incisors_mm': " behind "}}, "               \
    "'tissue_gap_mm': 1.5}], "                                                                                       \
    "'bars': [{'from': 'right seat', 'to': 'left seat', 'section': {'rectangle_mm': [3.0, 1.0]}}, "                  \
    "{'from': 'right seat', 'to': 'right hook', 'section': {'round_mm': 1.2}}, "                                     \
    "{'from': 'left seat', 'to': 'left hook', 'section': {'round_mm': 1.2}}], "                                      \
    "'seats': [{'node': 'right seat', 'screw': '" right "'}, {'node': 'left seat', 'screw': '" left "'}], "          \
    "'fittings': [{'node': 'right hook', 'kind': 'hook'}, {'node': 'left hook', 'kind': 'hook'}]"

#define PARAMEDIAN(case_word, name, side, day, torque, state)                                                \
    "{'case_id': '$" case_word "', 'name': '" name                                                           \
    "', 'site': 'palate-paramedian', 'screw_model_id': '$palatal', "                                         \
    "'entry': {'palate': {'right_mm': " side ", 'behind_incisors_mm': 26}}, 'axis': 'perpendicular', "       \
    "'tissue_mm': 1.5, 'stand_off_mm': 1.0, 'mucosa': 'attached', 'predrilled': false, 'placed_on': '" day   \
    "', "                                                                                                    \
    "'insertion_torque_ncm': " torque ", 'lot': 'DEMO-LOT-1'" state "}"

/* The open bite of a grown-up: upper molars are intruded, the plate is made longer on the way. */
static const char open_bite_case[] =
    "{'patient_id': '$adult', 'title': 'Open bite: intrusion of the upper molars', 'opened_on': '2026-02-09', "
    "'arches': {'maxilla': {'width_mm': 58, 'depth_mm': 47, 'vault_height_mm': 17}}, "
    "'segments': [{'name': 'upper right molars', 'teeth': ['16', '17'], 'joined': 'rigid'}, "
    "{'name': 'upper left molars', 'teeth': ['26', '27'], 'joined': 'rigid'}], "
    "'goals': [{'segment': 'upper right molars', 'occlusal_mm': -2.5}, "
    "{'segment': 'upper left molars', 'occlusal_mm': -2.5}], "
    "'stages': [{'name': 'molar intrusion with plate', 'planned_from': '2026-03-02', 'planned_to': '2026-09-28'}, "
    "{'name': 'aligners', 'planned_from': '2026-10-05'}]}";

/* An adolescent: one upper side is driven back; a screw was lost early and replaced. */
static const char distal_case[] =
    "{'patient_id': '$adolescent', 'title': 'Distal movement of the upper left first molar', "
    "'opened_on': '2026-03-16', 'arches': {'maxilla': {'width_mm': 54, 'depth_mm': 45, 'vault_height_mm': 15}}, "
    "'segments': [{'name': 'upper left first molar', 'teeth': ['26'], 'joined': 'rigid'}], "
    "'goals': [{'segment': 'upper left first molar', 'mesial_mm': -3}]}";

static const char distal_visit[] =
    "{'case_id': '$distal', 'visited_on': '2026-05-18', 'worn': [{'setup_id': '$distal-plate'}], "
    "'elements': [{'name': 'spring to 26', 'kind': 'closed-coil', 'from': {'fitting': 'left hook'}, "
    "'to': {'tooth': '26', 'at': 'palatal-attachment'}, 'force_n': {'value': 150, 'unit': 'gf'}, "
    "'activated_on': '2026-05-18'}], "
    "'screw_checks': [{'screw': 'right', 'mobility_grade': 0, 'inflammation_grade': 0}, "
    "{'screw': 'left, second', 'mobility_grade': 0, 'inflammation_grade': 1}], "
    "'measures': {'overjet_mm': 3.5, 'space_left_mm': 0.8}, "
    "'actions': [{'action': 'activated', 'of': 'spring to 26'}, {'action': 'instructed', 'note': 'brush around heads'}], "
    "'next_interval_days': 42}";

#define QUIET_SCREWS                                                                                         \
    "'screw_checks': [{'screw': 'right', 'mobility_grade': 0, 'inflammation_grade': 0}, "                    \
    "{'screw': 'left', 'mobility_grade': 0, 'inflammation_grade': 0}]"

const struct hfd_seed_step hfd_seed_steps[] = {
    {.collection = "/v1/screw-models",
        .found_by = "name=palatal%202.0%20x%208",
        .word = "palatal",
        .body = "{'name': 'palatal 2.0 x 8', 'diameter_mm': 2.0, 'core_mm': 1.5, 'length_mm': 8, "
                "'thread_pitch_mm': 0.8, 'tapered': false}"},
    {.collection = "/v1/screw-models",
        .body = "{'name': 'between roots 1.6 x 8', 'diameter_mm': 1.6, 'core_mm': 1.2, 'length_mm': 8, "
                "'thread_pitch_mm': 0.7, 'tapered': true}"},
    {.collection = "/v1/plate-patterns",
        .body = "{'name': 'palatal bar with two hooks', 'purpose': 'intrusion', " PALATAL_PLATE(
            "right", "left", "38") "}"},

    {.collection = "/v1/patients",
        .found_by = "chart_number=DEMO-1",
        .word = "adult",
        .body =
            "{'chart_number': 'DEMO-1', 'given_name': 'Demo', 'family_name': 'Alder', 'birth_date': '1992-01-20', "
            "'sex': 'female', 'cigarettes_per_day': 0}"},
    {.collection = "/v1/cases", .found_by = "patient_id=$adult", .word = "open-bite", .body = open_bite_case},
    {.collection = "/v1/screws", .body = PARAMEDIAN("open-bite", "right", "4", "2026-02-16", "18", "")},
    {.collection = "/v1/screws", .body = PARAMEDIAN("open-bite", "left", "-4", "2026-02-16", "17", "")},
    {.collection = "/v1/setups",
        .found_by = "case_id=$open-bite",
        .word = "plate",
        .body =
            "{'case_id': '$open-bite', 'name': 'palatal plate', 'purpose': 'intrusion of the upper molars', "
            "'worn_from': '2026-03-02', " PALATAL_PLATE("right", "left", "38") "}"},
    {.collection = "/v1/visits",
        .body = "{'case_id': '$open-bite', 'visited_on': '2026-03-02', 'worn': [{'setup_id': '$plate'}], " MOLAR_CHAINS(
            "100",
            "2026-03-02") ", " QUIET_SCREWS ", 'measures': {'overjet_mm': 3.0, "
                          "'overbite_mm': -3.5}, 'actions': [{'action': 'placed', 'of': 'palatal plate'}], 'next_interval_days': 42}"},
    {.collection = "/v1/visits",
        .body =
            "{'case_id': '$open-bite', 'visited_on': '2026-04-13', 'worn': [{'setup_id': '$plate'}], " MOLAR_CHAINS(
                "100",
                "2026-04-13") ", " QUIET_SCREWS ", 'measures': {'overjet_mm': 3.0, "
                              "'overbite_mm': -2.8, 'forces': [{'element': 'chain to 16', 'force_n': 0.45}]}, "
                              "'actions': [{'action': 'exchanged', 'of': 'chain to 16'}, {'action': 'exchanged', 'of': 'chain to 26'}], "
                              "'next_interval_days': 42}"},
    /* The same screws carry another plate: its hooks stand farther back. */
    {.change = "/v1/setups/$plate",
        .body = "{'worn_from': '2026-05-25', " PALATAL_PLATE("right", "left", "41") "}"},
    {.collection = "/v1/visits",
        .body = "{'case_id': '$open-bite', 'visited_on': '2026-05-25', 'worn': [{'setup_id': '$plate'}], " MOLAR_CHAINS(
            "80",
            "2026-05-25") ", " QUIET_SCREWS ", 'measures': {'overjet_mm': 2.8, "
                          "'overbite_mm': -2.0}, 'actions': [{'action': 'exchanged', 'of': 'palatal plate'}], 'next_interval_days': 42}"},

    {.collection = "/v1/patients",
        .found_by = "chart_number=DEMO-2",
        .word = "adolescent",
        .body =
            "{'chart_number': 'DEMO-2', 'given_name': 'Demo', 'family_name': 'Birch', 'birth_date': '2011-06-03', "
            "'sex': 'male', 'cigarettes_per_day': 0}"},
    {.collection = "/v1/cases", .found_by = "patient_id=$adolescent", .word = "distal", .body = distal_case},
    {.collection = "/v1/screws", .body = PARAMEDIAN("distal", "right", "4", "2026-03-23", "16", "")},
    {.collection = "/v1/screws",
        .body = PARAMEDIAN("distal", "left", "-4", "2026-03-23", "7",
            ", 'state': 'lost', 'state_on': '2026-04-20', 'state_reason': 'came out without pain'")},
    {.collection = "/v1/screws", .body = PARAMEDIAN("distal", "left, second", "-5", "2026-04-27", "17", "")},
    {.collection = "/v1/setups",
        .found_by = "case_id=$distal",
        .word = "distal-plate",
        .body =
            "{'case_id': '$distal', 'name': 'palatal plate', 'purpose': 'distal movement', 'worn_from': '2026-05-18', " PALATAL_PLATE(
                "right", "left, second", "40") "}"},
    {.collection = "/v1/visits", .body = distal_visit},
};

const size_t hfd_seed_step_count = sizeof hfd_seed_steps / sizeof hfd_seed_steps[0];
