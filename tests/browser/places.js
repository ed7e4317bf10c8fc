"use strict";
/* What is looked at. `sheet`: has to print on one page. `brief`: like its neighbours, so at one width and on paper only.
 * `open`: before one is signed in. `script`: may have some. `once`: for one visit of a case. `patient`: whose name has to stand there; `names`: those of all. */

const CLINIC = [
    {name: "start", path: "/", open: true},
    {name: "sign-in", path: "/sign-in?next=/worklist", open: true},
    {name: "worklist", path: "/v1/worklist.html", names: true},
    {name: "patients", path: "/v1/patients", names: true},
    {name: "api", path: "/api", open: true},
    {name: "problems", path: "/problems", open: true},
    {name: "problem", path: "/problems/not-found", open: true},
    {name: "unknown", path: "/v1/patients/019c0000-0000-7000-8000-0000000000ff", status: 404},
    {name: "unknown-problem", path: "/problems/none", status: 404, open: true},
];

const OF_PATIENT = [{name: "patient", path: ".html"}];
const OF_CASE = [{name: "case", path: ".html"}, {name: "progress", path: "progress.svg"}];
const OF_VISIT = [
    {name: "visit", path: ".html", sheet: true},
    {name: "what-if", path: "what-if", script: true, once: true},
    {name: "force", path: "force-system.svg"},
    {name: "force-frontal", path: "force-system.svg?view=frontal"},
    {name: "force-sagittal", path: "force-system.svg?view=sagittal"},
    {name: "force-occlusal", path: "force-system.svg?view=occlusal"},
    {name: "days", path: "force-system.svg?view=days"},
    {name: "screws", path: "stability.svg"},
];
const OF_CLINIC = ["site", "model", "operator", "age_group"]
    .map(by => ({name: `survival-${by}`, path: `/v1/outcomes/survival.svg?by=${by}`}));

const under = (collection, row, key, rows, more) => rows.map(r => ({
    ...r, ...more, name: `${r.name}-${key}`, path: `/v1/${collection}/${row.id}${r.path[0] === "." ? "" : "/"}${r.path}`}));

/* `read`: the items of a list of the API. */
async function places(read) {
    const found = [...CLINIC, ...OF_CLINIC];
    const patients = new Map((await read("/v1/patients?limit=200")).map(p => [p.id, p]));
    const visits = await read("/v1/visits?limit=200");
    for (const each of await read("/v1/cases?limit=200")) {
        const patient = patients.get(each.patient_id), key = patient.chart_number.toLowerCase();
        found.push(...under("patients", patient, key, OF_PATIENT, {patient}), ...under("cases", each, key, OF_CASE, {patient}));
        const his = visits.filter(v => v.case_id === each.id);
        for (const [i, visit] of his.entries())
            found.push(...under("visits", visit, `${key}-${visit.visited_on}`, OF_VISIT, {patient, brief: i > 0}));
    }
    return found.filter(p => !(p.brief && p.once)).map(p => ({status: 200, ...p, drawing: p.path.includes(".svg")}));
}

module.exports = {places};
