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

void hf_report_cite(hf_report *report, const char *key) {
    if (!key) return;
    report->cited =
        grown(report->arena, report->cited, report->cited_count, &report->cited_room, sizeof *report->cited);
    report->cited[report->cited_count++] = key;
}

void hf_report_find(hf_report *report, hf_finding finding) {
    report->findings = grown(report->arena, report->findings, report->finding_count, &report->finding_room,
        sizeof *report->findings);
    report->findings[report->finding_count++] = finding;
    hf_report_cite(report, finding.source);
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
    report->assumed = grown(report->arena, report->assumed, report->assumed_count, &report->assumed_room,
        sizeof *report->assumed);
    report->assumed[report->assumed_count++] = assumption;
    hf_report_cite(report, assumption.source);
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

static int by_text(const void *a, const void *b) {
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

/* What stands behind a key; NULL when it is no key but plain words. */
static const char *citation_of(hf_arena *arena, const char *key) {
    const char *text = hf_citation_find(key);
    if (text) return text;
    const hf_evidence *row = hf_evidence_find(key);
    if (!row) return NULL;
    text = hf_citation_find(row->source);
    if (!text) return NULL;
    bool no_paper =
        strcmp(row->source, "common-practice") == 0 || strcmp(row->source, "holdfast-judgement") == 0;
    if (row->held == HF_READ || no_paper) return text;
    return hf_arena_printf(arena, "%s (%s)", text, hf_held_names[row->held]);
}

static void finish_sources(const hf_report *report, hf_answer *out) {
    size_t count = report->cited_count;
    const char **keys = HF_NEW_ARRAY(report->arena, const char *, count);
    if (count) {
        memcpy(keys, report->cited, count * sizeof *keys);
        qsort(keys, count, sizeof *keys, by_text);
    }
    out->sources = HF_NEW_ARRAY(report->arena, hf_source, count);
    out->source_count = 0;
    for (size_t i = 0; i < count; i++) {
        if (i && strcmp(keys[i], keys[i - 1]) == 0) continue;
        const char *citation = citation_of(report->arena, keys[i]);
        if (citation) out->sources[out->source_count++] = (hf_source){keys[i], citation};
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
