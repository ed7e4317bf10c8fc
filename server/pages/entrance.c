#include "entrance.h"

#include <string.h>

void hfd_start_page(struct hfd_buf *out) {
    hfd_html_begin(out, &(struct hfd_frame){.title = "Start"});
    hfd_buf_text(out,
        "<h1>Moving teeth against screws in bone</h1>\n"
        "<p class=\"lead\">Holdfast keeps the record of orthodontic cases with skeletal anchorage and answers, for "
        "every visit, the questions that decide them: which force and moment does each group of teeth get and how will "
        "it move, what does each screw feel and how far is that from what it can hold, how likely is a loss before the "
        "next visit, and why.</p>\n"
        "<ul class=\"doors\">\n"
        "<li><a href=\"/worklist\">Worklist</a><p>Who is due today, who is overdue, whose screws are at risk. From "
        "there to the patient, the case and the sheet of each visit, ready to print.</p></li>\n"
        "<li><a href=\"/v1/patients\">Patients</a><p>All of your clinic, by chart number.</p></li>\n"
        "<li><a href=\"/api\">API</a><p>Every page is a form of a resource that programs get as JSON: the whole "
        "contract, with examples to run.</p></li>\n"
        "<li><a href=\"/v1/evidence\">Evidence</a><p>Every constant of the models with its range, its source and how "
        "it is held.</p></li>\n"
        "</ul>\n"
        "<h2>The demo clinic</h2>\n"
        "<p>A service started with <code>make run</code> holds a clinic of invented patients. Its access token stands "
        "in the file <code>.run/demo-token</code>: <a href=\"/sign-in?next=/v1/patients\">sign in</a> with it and look "
        "around. Nothing there belongs to a real patient.</p>\n"
        "<h2>How far to trust it</h2>\n"
        "<p>Directions, centres, ratios and who carries how much are reliable. Bone stress is a comparison within one "
        "model, micrometres are orders of magnitude, and risks are published figures with wide intervals. Outside the "
        "range that a model was made for the answer says so and gives no figure.</p>\n");
    hfd_html_end(out);
}

void hfd_sign_in_page(struct hfd_buf *out, const char *next, const char *refused) {
    hfd_html_begin(out, &(struct hfd_frame){.title = "Sign in"});
    hfd_buf_text(out, "<h1>Sign in</h1>\n");
    if (refused != NULL)
        hfd_html(out,
            "<p id=\"refused\" class=\"refused\" role=\"alert\"><strong>Not signed in.</strong> %s</p>\n",
            refused);
    hfd_html(out,
        "<form class=\"sign-in\" method=\"post\" action=\"/sign-in\">\n"
        "<input type=\"hidden\" name=\"next\" value=\"%s\">\n"
        "<label for=\"token\">Access token</label>\n"
        "<input id=\"token\" name=\"token\" type=\"password\" autocomplete=\"off\" autocapitalize=\"none\" "
        "spellcheck=\"false\" required aria-describedby=\"%stoken-help\">\n"
        "<p id=\"token-help\" class=\"quiet\">It begins with <code>hf_</code>. Your clinic's administrator makes one "
        "for you; that of the demo stands in <code>.run/demo-token</code>.</p>\n"
        "<button>Sign in</button>\n</form>\n"
        "<p class=\"quiet\">You stay signed in until you sign out, for an hour without use and at most for twelve "
        "hours. The only cookie is the one that this needs.</p>\n",
        next, refused ? "refused " : "");
    hfd_html_end(out);
}

bool hfd_is_local_path(const char *path) {
    if (path[0] != '/' || path[1] == '/' || path[1] == '\\') return false;
    for (; *path != '\0'; path++)
        if (*path <= 0x20 || *path >= 0x7f || strchr("\\\"<>", *path)) return false;
    return true;
}
