/* Judges the last visits of open cases in the background, on a connection of its own, whenever their records
 * have changed: a visit that nobody opens is judged all the same, and so is a case after a change of its
 * screws. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "../../core/evidence.h"
#include "../base/clock.h"
#include "../base/log.h"
#include "../base/num.h"
#include "../json/document.h"
#include "../store/store.h"
#include "../work/ticker.h"
#include "app.h"

static const int64_t pause_ns = 400 * HFD_NS_PER_MS;
/* Standings of one round: the daemon's end waits for two of them. */
enum { AT_ONCE = 200 };

struct hfd_judge {
    struct hfd_store *store;
    struct hfd_ticker *ticker;
    bool anew; /* standings of another version were told to wait */
};

static const struct hfd_statement anew_statement = {"judge-anew", "select holdfast.judge_anew($1, $2)", 2};
static const struct hfd_statement clinics_statement = {
    "clinics-to-judge", "select holdfast.clinics_to_judge()", 0};
static const struct hfd_statement waiting_statement = {"standings-to-judge",
    "select case_id, changes, document from holdfast.standings_to_judge($1::uuid, $2::integer)", 2};
static const struct hfd_statement judge_statement = {"judge-standing",
    "select holdfast.judge_standing($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)", 12};

/* What one round has of its own; memory of the round, of a clinic, of a document. */
struct round {
    struct hfd_store *store;
    hf_arena whole, clinic, document;
    size_t judged;
};

static bool run(struct round *round, hf_arena *arena, const struct hfd_statement *statement,
    const char *const *params, struct hfd_rows *rows) {
    struct hfd_call call = {.statement = statement, .params = params};
    struct hfd_store_error error;
    enum hfd_store_status status = hfd_store_alone(round->store, &call, arena, &error);
    *rows = call.rows;
    /* A database that is away is the connection's to tell. */
    if (status != HFD_STORE_OK && status != HFD_STORE_DOWN)
        hfd_log(HFD_LOG_ERROR, "case not judged", HFD_LOG_TEXT("statement", statement->name),
            HFD_LOG_TEXT("sqlstate", error.sqlstate), HFD_LOG_TEXT("constraint", error.constraint));
    return status == HFD_STORE_OK;
}

static const hf_finding *worst_of(const hf_answer *answer) {
    const hf_finding *worst = NULL;
    for (size_t i = 0; i < answer->finding_count; i++)
        if (worst == NULL || answer->findings[i].severity > worst->severity) worst = &answer->findings[i];
    return worst;
}

/* Of the screw that is lost most likely; NAN: no screw's risk is known. */
static hf_range loss_of(const hf_answer *answer) {
    hf_range most = {NAN, NAN, NAN};
    for (size_t i = 0; i < answer->screw_count; i++)
        if (!isnan(answer->screws[i].loss.mid) && !(answer->screws[i].loss.mid <= most.mid))
            most = answer->screws[i].loss;
    return most;
}

static const char *number(double value, hf_arena *arena) {
    if (isnan(value)) return NULL;
    char *text = hf_arena_alloc(arena, HFD_NUM_MAX);
    hfd_num_print12(text, value);
    return text;
}

enum {
    p_clinic,
    p_case,
    p_change,
    p_incomplete,
    p_digest,
    p_core,
    p_parameters,
    p_severity,
    p_finding,
    p_loss
};

static void judge_document(const char *document, hf_arena *arena, const char **params) {
    if (document == NULL) {
        params[p_incomplete] = "There is no visit yet.";
        return;
    }
    struct hfd_evaluation e;
    hfd_document_evaluate(document, strlen(document), false, HFD_ANSWER_WHOLE, arena, &e);
    if (e.kind != HFD_OK) {
        const struct hfd_error *first = e.errors.first;
        params[p_incomplete] = first == NULL ? e.detail
                               : first->pointer
                                   ? hf_arena_printf(arena, "%s: %s", first->pointer, first->detail)
                                   : first->detail;
        return;
    }
    const hf_finding *worst = worst_of(e.answer);
    const hf_range loss = loss_of(e.answer);
    params[p_digest] = e.digest;
    params[p_severity] = worst ? hf_severity_names[worst->severity] : NULL;
    params[p_finding] = worst ? worst->code : NULL;
    params[p_loss] = number(loss.low, arena);
    params[p_loss + 1] = number(loss.mid, arena);
    params[p_loss + 2] = number(loss.high, arena);
}

/* False: the rest waits. */
static bool judge_clinic(struct round *round, const char *clinic) {
    hf_arena_reset(&round->clinic);
    const char *asked[] = {clinic, hf_arena_printf(&round->clinic, "%zu", AT_ONCE - round->judged)};
    struct hfd_rows waiting, none;
    if (!run(round, &round->clinic, &waiting_statement, asked, &waiting)) return false;
    for (size_t i = 0; i < waiting.row_count; i++, round->judged++) {
        hf_arena_reset(&round->document);
        const char *params[p_loss + 3] = {[p_clinic] = clinic,
            [p_case] = hfd_cell(&waiting, i, 0),
            [p_change] = hfd_cell(&waiting, i, 1),
            [p_core] = HF_CORE_VERSION,
            [p_parameters] = HF_PARAMETERS_VERSION};
        judge_document(hfd_cell(&waiting, i, 2), &round->document, params);
        if (!run(round, &round->document, &judge_statement, params, &none)) return false;
    }
    return round->judged < AT_ONCE;
}

static void judge(void *ctx) {
    struct hfd_judge *judge = ctx;
    struct round round = {.store = judge->store};
    hf_arena *arenas[] = {&round.whole, &round.clinic, &round.document};
    for (size_t i = 0; i < sizeof arenas / sizeof *arenas; i++)
        hf_arena_init(arenas[i], 65536, 0);
    const char *versions[] = {HF_CORE_VERSION, HF_PARAMETERS_VERSION};
    struct hfd_rows clinics;
    if (!judge->anew) judge->anew = run(&round, &round.whole, &anew_statement, versions, &clinics);
    bool on = judge->anew && run(&round, &round.whole, &clinics_statement, NULL, &clinics);
    for (size_t i = 0; on && i < clinics.row_count; i++)
        on = judge_clinic(&round, hfd_cell(&clinics, i, 0));
    for (size_t i = 0; i < sizeof arenas / sizeof *arenas; i++)
        hf_arena_fini(arenas[i]);
}

struct hfd_judge *hfd_app_judge(const char *database) {
    struct hfd_judge *made = calloc(1, sizeof *made);
    if (made == NULL) return NULL;
    made->store = hfd_store_new(database);
    if (made->store != NULL) made->ticker = hfd_ticker_new(pause_ns, judge, made);
    if (made->ticker != NULL) return made;
    hfd_app_judge_end(made);
    return NULL;
}

void hfd_app_judge_end(struct hfd_judge *judge) {
    if (judge == NULL) return;
    hfd_ticker_free(judge->ticker);
    hfd_store_free(judge->store);
    free(judge);
}
