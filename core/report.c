#include "report.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "evidence.h"

hf_report hf_report_on(hf_arena *arena) {
    return (hf_report){.arena = arena};
}

/* The array with room for one more. Outgrown arrays stay in the arena: they are few and small. */
static void *grown(hf_arena *arena, void *items, size_t count, size_t *room, size_t size) {
    if (count < *room) return items;
    size_t wider = *room ? *room * 2 : 8;
    void *copy = hf_arena_array(arena, wider, size);
    if (count) memcpy(copy, items, count * size);
    *room = wider;
    return copy;
}

const char *hf_report_cite(hf_report *report, const char *key) {
    const char *asked = key;
    if (!key) return NULL;
    for (size_t i = report->cited_count; i-- > 0;) {
        if (report->cited[i].asked == asked) return report->cited[i].key;
    }
    const hf_evidence *row = hf_evidence_find(key);
    if (row) key = row->source;
    const char *text = hf_citation_find(key);
    if (!text) return key;
    report->cited =
        grown(report->arena, report->cited, report->cited_count, &report->cited_room, sizeof *report->cited);
    report->cited[report->cited_count++] =
        (struct hf_cited){asked, key, text, row && row->held == HF_FROM_MEMORY};
    return key;
}

void hf_report_find(hf_report *report, hf_finding finding) {
    finding.source = hf_report_cite(report, finding.source);
    report->findings = grown(report->arena, report->findings, report->finding_count, &report->finding_room,
        sizeof *report->findings);
    report->findings[report->finding_count++] = finding;
}

void hf_report_problem(hf_report *report, const char *pointer, const char *format, ...) {
    char detail[512]; /* details are one sentence; what is longer is cut */
    va_list args;
    va_start(args, format);
    vsnprintf(detail, sizeof detail, format, args);
    va_end(args);
    report->problems = grown(report->arena, report->problems, report->problem_count, &report->problem_room,
        sizeof *report->problems);
    report->problems[report->problem_count++] = (hf_problem){
        .pointer = pointer,
        .detail = hf_arena_strdup(report->arena, detail),
    };
}

static void assume(hf_report *report, hf_assumption assumption) {
    assumption.source = hf_report_cite(report, assumption.source);
    report->assumed = grown(report->arena, report->assumed, report->assumed_count, &report->assumed_room,
        sizeof *report->assumed);
    report->assumed[report->assumed_count++] = assumption;
}

void hf_report_assume_real(hf_report *report, const char *pointer, double value, const char *source) {
    assume(report,
        (hf_assumption){.pointer = pointer, .kind = HF_ASSUMED_REAL, .real = value, .source = source});
}

void hf_report_assume_vec3(hf_report *report, const char *pointer, hf_vec3 value, const char *source) {
    assume(report,
        (hf_assumption){.pointer = pointer, .kind = HF_ASSUMED_VEC3, .vec3 = value, .source = source});
}

void hf_report_assume_text(hf_report *report, const char *pointer, const char *value, const char *source) {
    assume(report,
        (hf_assumption){.pointer = pointer, .kind = HF_ASSUMED_TEXT, .text = value, .source = source});
}

/* By key; of one key the row from memory first, so that the note survives when repeats are dropped. */
static int by_key(const void *a, const void *b) {
    const struct hf_cited *one = a, *other = b;
    int order = strcmp(one->key, other->key);
    return order ? order : (int)other->from_memory - (int)one->from_memory;
}

static void finish_sources(const hf_report *report, hf_answer *out) {
    static const char note[] = "value from memory";
    size_t count = report->cited_count;
    struct hf_cited *cited = HF_NEW_ARRAY(report->arena, struct hf_cited, count);
    if (count) {
        memcpy(cited, report->cited, count * sizeof *cited);
        qsort(cited, count, sizeof *cited, by_key);
    }
    out->sources = HF_NEW_ARRAY(report->arena, hf_source, count);
    out->source_count = 0;
    for (size_t i = 0; i < count; i++) {
        if (i && strcmp(cited[i].key, cited[i - 1].key) == 0) continue;
        const char *text = cited[i].text;
        if (cited[i].from_memory && !strstr(text, "from memory"))
            text = hf_arena_printf(report->arena, "%s (%s)", text, note);
        out->sources[out->source_count++] = (hf_source){cited[i].key, text};
    }
}

void hf_report_finish(const hf_report *report, hf_answer *out) {
    out->findings = report->findings;
    out->finding_count = report->finding_count;
    out->assumed = report->assumed;
    out->assumed_count = report->assumed_count;
    out->problems = report->problems;
    out->problem_count = report->problem_count;
    finish_sources(report, out);
}
