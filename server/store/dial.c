#include "dial.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Times in ms. Floats must come back bit for bit, dates in one form, names from our schema only. No statement
 * of ours runs long enough to be worth compiling: one that is taken for such would cost more than it saves.
 */
static const char settings[] =
    "-c search_path=holdfast,pg_temp -c statement_timeout=5000 -c lock_timeout=2000 "
    "-c idle_in_transaction_session_timeout=10000 -c extra_float_digits=1 "
    "-c datestyle=ISO -c timezone=UTC -c jit=off";

/* A server that is gone is noticed within seconds, also in the middle of an answer. */
static const char *const defaults[][2] = {
    {"connect_timeout", "3"},
    {"tcp_user_timeout", "8000"},
    {"keepalives_idle", "30"},
    {"keepalives_interval", "5"},
    {"keepalives_count", "3"},
    {"client_encoding", "UTF8"},
    {"fallback_application_name", "holdfastd"},
};
#define DEFAULT_COUNT (sizeof defaults / sizeof *defaults)

static const char *option(const PQconninfoOption *given, const char *keyword) {
    for (; given->keyword != NULL; given++) {
        if (strcmp(given->keyword, keyword) == 0) return given->val;
    }
    return NULL;
}

/* Of a repeated keyword libpq takes the last, so theirs stand behind ours; of the server's settings likewise.
 */
static PGconn *connect_with(const PQconninfoOption *given, size_t given_count) {
    const char *theirs = option(given, "options");
    const size_t size = sizeof settings + 1 + (theirs != NULL ? strlen(theirs) : 0);
    const size_t room = DEFAULT_COUNT + given_count + 2;
    const char **words = calloc(2 * room, sizeof *words);
    char *options = malloc(size);
    PGconn *connection = NULL;
    if (words != NULL && options != NULL) {
        const char **values = words + room;
        size_t count = 0;
        for (size_t i = 0; i < DEFAULT_COUNT; i++) {
            words[count] = defaults[i][0];
            values[count++] = defaults[i][1];
        }
        for (size_t i = 0; i < given_count; i++) {
            words[count] = given[i].keyword;
            values[count++] = given[i].val;
        }
        snprintf(options, size, "%s %s", settings, theirs != NULL ? theirs : "");
        words[count] = "options";
        values[count] = options;
        connection = PQconnectdbParams(words, values, 0);
    }
    free(options);
    free(words);
    return connection;
}

PGconn *hfd_dial(const char *conninfo) {
    PQconninfoOption *given = PQconninfoParse(conninfo, NULL);
    /* Let libpq say itself what is wrong with the text. */
    if (given == NULL) return PQconnectdb(conninfo);
    size_t count = 0;
    while (given[count].keyword != NULL)
        count++;
    PGconn *connection = connect_with(given, count);
    PQconninfoFree(given);
    return connection;
}
