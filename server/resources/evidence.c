/* The constants of the models with their sources, and the materials: no secret, so no token. */
#include <math.h>

#include "../../core/evaluate.h"
#include "../../core/evidence.h"
#include "../../core/material.h"
#include "../rest/resource.h"

#define TAG "\"" HF_CORE_VERSION "-" HF_PARAMETERS_VERSION "\""

static void put_text(struct hfd_buf *out, const char *name, const char *text) {
    if (text == NULL) return;
    hfd_buf_printf(out, ",\"%s\":", name);
    hfd_buf_json_string(out, text);
}

static void put_real(struct hfd_buf *out, const char *name, double value) {
    if (isnan(value)) return;
    hfd_buf_printf(out, ",\"%s\":", name);
    hfd_buf_json_real(out, value);
}

static void put_constant(struct hfd_buf *out, const hf_evidence *e) {
    hfd_buf_text(out, "{\"key\":");
    hfd_buf_json_string(out, e->key);
    put_real(out, "value", e->value);
    put_real(out, "low", e->low);
    put_real(out, "high", e->high);
    put_text(out, "unit", e->unit);
    put_text(out, "source", e->source);
    put_text(out, "held", hf_held_names[e->held]);
    put_text(out, "what", e->what);
    hfd_buf_char(out, '}');
}

static enum hfd_problem_kind list_evidence(struct hfd_op *op) {
    if (hfd_op_unchanged(op, TAG)) return HFD_OK;
    struct hfd_buf out;
    hfd_buf_init(&out, op->arena, 65536);
    hfd_buf_text(&out, "{\"model\":{\"core\":\"" HF_CORE_VERSION "\",\"parameters\":\"" HF_PARAMETERS_VERSION
                       "\"},\"constants\":[");
    for (size_t i = 0; i < HF_EV_COUNT; i++) {
        if (i > 0) hfd_buf_char(&out, ',');
        put_constant(&out, &hf_evidence_table[i]);
    }
    hfd_buf_text(&out, "],\"sources\":{");
    for (size_t i = 0; i < hf_citation_count; i++) {
        if (i > 0) hfd_buf_char(&out, ',');
        hfd_buf_json_string(&out, hf_citations[i].key);
        hfd_buf_char(&out, ':');
        hfd_buf_json_string(&out, hf_citations[i].text);
    }
    hfd_buf_text(&out, "}}");
    return hfd_op_json(op, out.text, out.length);
}

static enum hfd_problem_kind list_materials(struct hfd_op *op) {
    if (hfd_op_unchanged(op, TAG)) return HFD_OK;
    struct hfd_buf out;
    hfd_buf_init(&out, op->arena, 4096);
    hfd_buf_text(&out, "{\"items\":[");
    for (size_t i = 0; i < hf_material_count; i++) {
        const hf_material *m = &hf_materials[i];
        hfd_buf_text(&out, i > 0 ? ",{\"name\":" : "{\"name\":");
        hfd_buf_json_string(&out, m->name);
        put_real(&out, "modulus_mpa", m->modulus_mpa);
        put_real(&out, "poisson", m->poisson);
        put_real(&out, "yield_mpa", m->yield_mpa);
        put_text(&out, "source", m->source);
        hfd_buf_char(&out, '}');
    }
    hfd_buf_text(&out, "]}");
    return hfd_op_json(op, out.text, out.length);
}

static const struct hfd_route routes[] = {
    {.method = HFD_GET,
        .path = "/v1/evidence",
        .roles = HFD_PUBLIC,
        .operation = list_evidence,
        .has_etag = true,
        .what = "Every constant of the models with where it comes from",
        .answers =
            "{type: object, required: [model, constants, sources], additionalProperties: false, properties: {"
            "model: {type: object, properties: {core: {type: string}, parameters: {type: string}}}, "
            "constants: {type: array, items: {type: object, required: [key, value, unit, held, what], "
            "additionalProperties: false, properties: {key: {type: string}, value: {type: number}, low: {type: "
            "number}, high: {type: number}, unit: {type: string}, source: {type: string, description: \"Key of "
            "sources.\"}, held: {type: string}, what: {type: string}}}}, "
            "sources: {type: object, additionalProperties: {type: string}}}}"},
    {.method = HFD_GET,
        .path = "/v1/materials",
        .roles = HFD_PUBLIC,
        .operation = list_materials,
        .has_etag = true,
        .what = "Materials that documents may name",
        .answers =
            "{type: object, required: [items], additionalProperties: false, properties: {items: {type: array, "
            "items: {type: object, required: [name], additionalProperties: false, properties: {name: {type: "
            "string}, modulus_mpa: {type: number}, poisson: {type: number}, yield_mpa: {type: number}, source: "
            "{type: string}}}}}}"},
};

const struct hfd_resource hfd_resource_evidence = {.routes = routes, .route_count = HFD_COUNT(routes)};
