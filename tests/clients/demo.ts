/* What a dashboard does, by the types that are generated from api/openapi.yaml: lists patients page by page, reads what a visit
 * does, asks what another force would do, and is refused. Prints one JSON object. */
import createClient from "openapi-fetch";
import type { components, paths } from "./api.js";

type Document = components["schemas"]["MechanicsDocument"];
type Answer = components["schemas"]["Answer"];
type Problem = components["schemas"]["Problem"];

function setting(name: string): string {
    const value = process.env[name];
    if (value === undefined) throw new Error(`${name} is not set`);
    return value;
}

class Refused extends Error {
    constructor(readonly problem: Problem) {
        super(`${problem.status} ${problem.title}`);
    }
}

/* What was answered as JSON (other forms are text), or the refusal thrown. */
function good<T>(reply: { data?: T; error?: Problem }): Exclude<T, string> {
    if (reply.error !== undefined) throw new Refused(reply.error);
    return reply.data as Exclude<T, string>;
}

const holdfast = createClient<paths>({
    baseUrl: setting("HOLDFAST"),
    headers: { Authorization: `Bearer ${setting("TOKEN")}`, Accept: "application/json" },
});

async function* patients(): AsyncGenerator<components["schemas"]["Patient"]> {
    let cursor: string | null | undefined;
    do {
        const page = good(await holdfast.GET("/v1/patients", { params: { query: { limit: 3, sort: "created_at", ...(cursor ? { cursor } : {}) } } }));
        yield* page.items;
        cursor = page.next_cursor;
    } while (cursor !== null);
}

async function forceSystem(id: string): Promise<Answer> {
    return good(await holdfast.GET("/v1/visits/{id}/force-system", { params: { path: { id } } }));
}

/* The same visit with every force told anew. */
async function whatIf(id: string, force_n: number): Promise<Answer> {
    /* A stored visit may lack what a posted one must have; what is missing is then refused by name. */
    const stored = good(await holdfast.GET("/v1/visits/{id}/mechanics-document", { params: { path: { id } } })) as Document;
    const elements = stored.elements?.map((element) => ({ ...element, force_n })) ?? [];
    const answer = good(await holdfast.POST("/v1/mechanics/evaluate", { body: { ...stored, elements } }));
    if ("variants" in answer) throw new Error("one document was posted");
    return answer;
}

async function refusal(): Promise<Problem> {
    try {
        good(await holdfast.POST("/v1/patients", { body: { chart_number: "", cigarettes_per_day: -1 } }));
    } catch (refused) {
        if (refused instanceof Refused) return refused.problem;
        throw refused;
    }
    throw new Error("a faulty patient was taken");
}

const charts: string[] = [];
for await (const patient of patients()) charts.push(patient.chart_number);
const visit = setting("VISIT");
const now = await forceSystem(visit);
const then = await whatIf(visit, 0.5);
const problem = await refusal();
console.log(JSON.stringify({
    charts,
    movements: now.segments?.map((segment) => [segment.name, segment.movement]),
    forces: then.elements?.map((element) => element.force_n),
    refused: [problem.status, problem.errors?.map((error) => error.pointer)],
}));
