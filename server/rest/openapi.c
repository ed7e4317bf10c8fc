#include "openapi.h"

#include <ctype.h>
#include <string.h>

#include "../../core/evaluate.h"
#include "route.h"
#include "schema.h"

static const char HEAD[] =
    "openapi: 3.1.0\n"
    "info:\n"
    "  title: Holdfast\n"
    "  version: " HF_CORE_VERSION "\n"
    "  license: {name: ISC, identifier: ISC}\n"
    "  summary: Force systems and stability of orthodontic cases on skeletal anchorage.\n"
    "  description: |\n"
    "    Decision support for licensed orthodontic professionals.\n"
    "\n"
    "    Units stand at the end of a member's name: `_mm`, `_n`, `_nmm` (N mm), `_mpa`, `_kpa`, `_deg`, `_ncm` (N cm),\n"
    "    `_in`, `_um`. A body may tell a quantity in another unit as `{\"value\": 150, \"unit\": \"gf\"}` with a UCUM code;\n"
    "    answers always use the named one. Coordinates: `occlusal-lps`, +x to the patient's left, +y posterior,\n"
    "    +z superior. Teeth by ISO 3950 as text. A member that is not known is left out, never null.\n"
    "\n"
    "    Lists are also offered as tables (text/csv) and lines (application/x-ndjson), without `limit` whole. Other forms\n"
    "    of an answer are chosen by Accept or by a suffix of the path: .json .html .svg .csv .ndjson.\n"
    "\n"
    "    Bodies are refused as a whole, every fault at once, each with its JSON pointer. Unknown members and members\n"
    "    told twice are refused. Every GET is also offered as HEAD, every path answers OPTIONS with Allow. A change is a\n"
    "    JSON merge patch (RFC 7396); members that cannot be changed may be sent again as they were read. Rows of other\n"
    "    clinics answer exactly like rows that are not there.\n"
    "\n"
    "    X-Request-Id (up to 36 letters, digits, `.`, `_`, `-`) and traceparent (W3C Trace Context) are taken over into the\n"
    "    log and into refusals. Where the server limits what a token may ask, every reply to it says so in RateLimit and\n"
    "    RateLimit-Policy, and a 429 in Retry-After.\n"
    "\n"
    "    Browsers open a session of a token at /sign-in; a request by its cookie that changes anything must come from a\n"
    "    page of this server. Who likes text/html better than JSON gets refusals as pages, and without a session is led to\n"
    "    /sign-in by a 303. A suffix of the path (.json, .html, .svg, .csv, .ndjson) stands for an Accept field.\n"
    "servers:\n"
    "  - {url: /}\n"
    "security:\n"
    "  - token: []\n"
    "  - session: []\n"
    "paths:\n";

static void put_text(struct hfd_buf *out, int indent, const char *name, const char *text) {
    hfd_buf_printf(out, "%*s%s: ", indent, "", name);
    hfd_buf_json_string(out, text);
    hfd_buf_char(out, '\n');
}

static bool status_has_problem(int status) {
    for (size_t i = 0; i < HFD_PROBLEM_COUNT; i++)
        if (hfd_problem_rows[i].status == status && status >= 400) return true;
    return false;
}

static void put_refusals(struct hfd_buf *out, const int *statuses) {
    for (; *statuses != 0; statuses++)
        if (status_has_problem(*statuses))
            hfd_buf_printf(
                out, "        \"%d\": {$ref: \"#/components/responses/Problem%d\"}\n", *statuses, *statuses);
    hfd_buf_text(out, "        default: {$ref: \"#/components/responses/Problem\"}\n");
}

/* ---------------------------------------------------------------- the four verbs */

static const struct verb {
    enum hfd_verb verb;
    const char *method, *what, *status, *headers;
    int refusals[16];
} verbs[] = {
    {HFD_LIST, "get", "List, page by page", "200", "Link", {400, 401, 403, 406, 429, 500, 503}},
    {HFD_CREATE, "post", "Create a", "201", "Location, ETag, Idempotency-Replayed, Preference-Applied",
        {400, 401, 403, 406, 409, 413, 415, 422, 429, 500, 503}},
    {HFD_READ, "get", "Read a", "200", "ETag", {400, 401, 403, 404, 406, 429, 500, 503}},
    {HFD_CHANGE, "patch", "Change a", "200", "ETag",
        {400, 401, 403, 404, 406, 409, 412, 413, 415, 422, 428, 429, 500, 503}},
};

static void put_roles(struct hfd_buf *out, const char *roles) {
    if (roles == HFD_PUBLIC)
        hfd_buf_text(out, "      security: []\n");
    else
        hfd_buf_printf(out, "      x-roles: [%.*s]\n", (int)strlen(roles) - 2, roles + 1);
}

static void put_parameter(struct hfd_buf *out, const char *name) {
    hfd_buf_printf(out, "        - {$ref: \"#/components/parameters/%s\"}\n", name);
}

static void put_filter(struct hfd_buf *out, const struct hfd_column *column, const char *suffix) {
    hfd_buf_printf(out, "        - name: %s%s\n          in: query\n          schema:", column->name, suffix);
    hfd_schema_column(out, column, HFD_SCHEMA_READ);
}

static void put_list_parameters(struct hfd_buf *out, const struct hfd_resource *r) {
    hfd_buf_text(out, "      parameters:\n");
    put_parameter(out, "limit");
    put_parameter(out, "cursor");
    put_parameter(out, "total");
    put_parameter(out, "separator");
    if (r->dated) put_parameter(out, "on");
    hfd_buf_printf(out, "        - {name: sort, in: query, schema: {type: string, enum: [");
    const char *before = "";
    for (size_t i = 0; i < r->column_count; i++)
        if (r->columns[i].flags & HFD_SORT) {
            hfd_buf_printf(out, "%s%s, -%s", before, r->columns[i].name, r->columns[i].name);
            before = ", ";
        }
    hfd_buf_printf(out, "], default: %s}, description: \"A - in front: the last first.\"}\n", r->sort);
    for (size_t i = 0; i < r->column_count; i++) {
        if (r->columns[i].flags & HFD_FILTER) put_filter(out, &r->columns[i], "");
        if (r->columns[i].flags & HFD_RANGE) put_filter(out, &r->columns[i], "_from");
        if (r->columns[i].flags & HFD_RANGE) put_filter(out, &r->columns[i], "_to");
    }
}

static void put_body(struct hfd_buf *out, const struct hfd_resource *r, const struct verb *verb) {
    if (verb->verb != HFD_CREATE && verb->verb != HFD_CHANGE) return;
    static const char *const types[] = {"application/json", "application/merge-patch+json"};
    hfd_buf_text(out, "      requestBody:\n        required: true\n        content:\n");
    for (int i = 0; i < (verb->verb == HFD_CHANGE ? 2 : 1); i++) {
        hfd_buf_printf(out, "          %s:\n            schema: {$ref: \"#/components/schemas/", types[i]);
        hfd_schema_name(out, r->noun);
        hfd_buf_text(out, verb->verb == HFD_CREATE ? "New\"}\n" : "Change\"}\n");
        hfd_buf_printf(out, "            example: %s\n", verb->verb == HFD_CREATE ? r->example : r->change);
    }
}

static void put_headers(struct hfd_buf *out, int indent, const char *names) {
    hfd_buf_printf(out, "%*sheaders:\n", indent, "");
    while (*names != '\0') {
        size_t length = strcspn(names, ", ");
        hfd_buf_printf(out, "%*s%.*s: {$ref: \"#/components/headers/%.*s\"}\n", indent + 2, "", (int)length,
            names, (int)length, names);
        names += length + strspn(names + length, ", ");
    }
}

/* Those behind the first: texts. */
static void put_other_types(struct hfd_buf *out, const char *types) {
    for (const char *type = strchr(types, ','); type != NULL; type = strchr(type, ',')) {
        type += 2;
        hfd_buf_printf(
            out, "            %.*s:\n              schema: {type: string}\n", (int)strcspn(type, ","), type);
    }
}

static void put_verb(struct hfd_buf *out, const struct hfd_resource *r, const struct verb *verb) {
    bool one = verb->verb == HFD_READ || verb->verb == HFD_CHANGE,
         writes = verb->verb == HFD_CREATE || verb->verb == HFD_CHANGE;
    hfd_buf_printf(
        out, "    %s:\n      tags: [%s]\n      operationId: ", verb->method, r->path + strlen("/v1/"));
    hfd_buf_text(out, verb->verb == HFD_LIST     ? "list"
                      : verb->verb == HFD_CREATE ? "create"
                      : one && !writes           ? "read"
                                                 : "change");
    hfd_schema_name(out, r->noun);
    hfd_buf_printf(out, "\n      summary: %s%s%s\n", verb->what, verb->verb == HFD_LIST ? "" : " ",
        verb->verb == HFD_LIST ? "" : r->noun);
    put_roles(out, writes ? r->write_roles : r->read_roles);
    if (verb->verb == HFD_LIST) put_list_parameters(out, r);
    if (verb->verb == HFD_READ || verb->verb == HFD_CHANGE) {
        hfd_buf_text(out, "      parameters:\n");
        put_parameter(out, "id");
        put_parameter(out, verb->verb == HFD_READ ? "If-None-Match" : "If-Match");
        if (verb->verb == HFD_CHANGE) put_parameter(out, "Prefer");
    }
    if (verb->verb == HFD_CREATE) {
        hfd_buf_text(out, "      parameters:\n");
        put_parameter(out, "Idempotency-Key");
        put_parameter(out, "Prefer");
    }
    put_body(out, r, verb);
    hfd_buf_printf(out, "      responses:\n        \"%s\":\n          description: %s\n", verb->status,
        verb->verb == HFD_LIST ? "One page" : "The row as it stands");
    put_headers(out, 10, verb->headers);
    hfd_buf_text(out, "          content:\n            application/json:\n              schema: ");
    if (verb->verb == HFD_LIST)
        hfd_buf_text(out,
            "{type: object, required: [items, next_cursor], additionalProperties: false, properties: {items: "
            "{type: array, items: {$ref: \"#/components/schemas/");
    else
        hfd_buf_text(out, "{$ref: \"#/components/schemas/");
    hfd_schema_name(out, r->noun);
    hfd_buf_text(
        out, verb->verb == HFD_LIST
                 ? "\"}}, next_cursor: {type: [string, \"null\"]}, total: {type: integer, minimum: 0}}}\n"
                 : "\"}\n");
    put_other_types(out, hfd_route_produces(r, verb->verb));
    if (verb->verb == HFD_CHANGE)
        hfd_buf_text(out, "        \"204\": {$ref: \"#/components/responses/Minimal\"}\n");
    if (verb->verb == HFD_READ)
        hfd_buf_text(out, "        \"304\": {$ref: \"#/components/responses/NotModified\"}\n");
    put_refusals(out, verb->refusals);
}

/* ---------------------------------------------------------------- other routes */

static void put_route_refusals(struct hfd_buf *out, const struct hfd_route *route) {
    static const int all[] = {400, 401, 403, 404, 406, 409, 410, 412, 413, 415, 422, 428, 429, 500, 503};
    bool takes = route->takes != NULL, known = route->roles != HFD_PUBLIC;
    int statuses[HFD_COUNT(all) + 1], n = 0;
    for (size_t i = 0; i < HFD_COUNT(all); i++) {
        int status = all[i];
        bool may = (route->writes && status != 410) || (route->expires && status == 410) || status == 400 ||
                   status == 406 || status >= 500 ||
                   ((known || (route->redirects && route->method == HFD_POST)) &&
                       (status == 401 || status == 403 || status == 429)) ||
                   (status == 404 && strchr(route->path, '{') != NULL) ||
                   (takes && (status == 413 || status == 415 || status == 422)) ||
                   (route->refuses_state && status == 422);
        if (may) statuses[n++] = status;
    }
    statuses[n] = 0;
    put_refusals(out, statuses);
}

/* "/v1/visits/{id}/force-system": visits-force-system */
static void put_operation_id(struct hfd_buf *out, const struct hfd_route *route) {
    const char *p = route->id ? "" : route->path, *before = "";
    hfd_buf_printf(out, "      operationId: %s", route->id ? route->id : "");
    while (*p == '/') {
        size_t length = strcspn(++p, "/");
        if (strncmp(p, "v1", length) != 0) {
            hfd_buf_text(out, before);
            for (size_t i = 0; i < length; i++)
                if (isalnum((unsigned char)p[i]) || p[i] == '-') hfd_buf_char(out, p[i]);
            before = "-";
        }
        p += length;
    }
    hfd_buf_char(out, '\n');
}

static void put_content(struct hfd_buf *out, const struct hfd_route *route) {
    const char *types = route->produces ? route->produces : "application/json";
    hfd_buf_text(out, "          content:\n");
    for (size_t length; *types != '\0'; types += length + strspn(types + length, ", ")) {
        length = strcspn(types, ",");
        bool plain = strncmp(types, "application/json", length) != 0;
        hfd_buf_printf(out, "            %.*s:\n              schema: %s\n", (int)length, types,
            plain ? "{type: string}" : route->answers);
    }
}

static void put_route(struct hfd_buf *out, const struct hfd_route *route) {
    static const char *const methods[HFD_METHOD_COUNT] = {[HFD_GET] = "get", [HFD_POST] = "post"};
    const char *brace = strchr(route->path, '{');
    hfd_buf_printf(out, "    %s:\n", methods[route->method]);
    put_operation_id(out, route);
    put_text(out, 6, "summary", route->what);
    put_roles(out, route->roles);
    if (brace != NULL || route->query != NULL || route->has_etag || route->writes || route->fields != NULL)
        hfd_buf_text(out, "      parameters:\n");
    for (; brace != NULL; brace = strchr(brace + 1, '{'))
        hfd_buf_printf(out, "        - {$ref: \"#/components/parameters/%.*s\"}\n",
            (int)strcspn(brace + 1, "}"), brace + 1);
    for (size_t i = 0; route->query != NULL && route->query[i] != NULL; i++)
        put_parameter(
            out, route->expires && strcmp(route->query[i], "cursor") == 0 ? "place" : route->query[i]);
    if (route->fields != NULL) put_parameter(out, route->fields);
    if (route->has_etag) put_parameter(out, "If-None-Match");
    if (route->writes) put_parameter(out, "Idempotency-Key");
    if (route->writes) put_parameter(out, "Prefer");
    if (route->needs_match) put_parameter(out, "If-Match");
    if (route->takes != NULL) {
        hfd_buf_printf(out,
            "      requestBody:\n        required: true\n        content:\n          %s:\n            schema: %s\n",
            route->takes_type ? route->takes_type : "application/json", route->takes);
        if (route->example != NULL) hfd_buf_printf(out, "            example: %s\n", route->example);
    }
    hfd_buf_printf(out, "      responses:\n        \"%d\":\n          description: Answer\n",
        route->redirects ? 303
        : route->creates ? 201
                         : 200);
    if (route->redirects)
        put_headers(out, 10, route->method == HFD_POST ? "Location, Set-Cookie" : "Location");
    if (route->has_etag) put_headers(out, 10, "ETag");
    if (route->writes) put_headers(out, 10, "Idempotency-Replayed, Preference-Applied");
    if (!route->redirects) put_content(out, route);
    if (route->has_etag)
        hfd_buf_text(out, "        \"304\": {$ref: \"#/components/responses/NotModified\"}\n");
    put_route_refusals(out, route);
}

/* ---------------------------------------------------------------- paths */

/* A route of the file that stands under the resource's own path, beside its verbs. */
static bool shares_path(const struct hfd_resource *r, const struct hfd_route *route) {
    return r->path != NULL && strcmp(r->path, route->path) == 0;
}

static void put_verbs(struct hfd_buf *out, const struct hfd_resource *r) {
    for (int one = 0; one < 2; one++) {
        unsigned here = one ? HFD_READ | HFD_CHANGE : HFD_LIST | HFD_CREATE;
        if (!(r->verbs & here)) continue;
        hfd_buf_printf(out, "  %s%s:\n", r->path, one ? "/{id}" : "");
        for (size_t i = 0; i < HFD_COUNT(verbs); i++)
            if (r->verbs & here & verbs[i].verb) put_verb(out, r, &verbs[i]);
        for (size_t i = 0; i < r->route_count && !one; i++)
            if (shares_path(r, &r->routes[i])) put_route(out, &r->routes[i]);
    }
}

/* ---------------------------------------------------------------- components */

static void put_problems(struct hfd_buf *out) {
    static const char content[] =
        "content: {application/problem+json: {schema: {$ref: \"#/components/schemas/Problem\"}}}";
    hfd_buf_text(out,
        "  responses:\n"
        "    NotModified: {description: \"The tag that was sent is still right.\"}\n"
        "    Minimal: {description: \"Changed; with Prefer: return=minimal.\", headers: {ETag: {$ref: "
        "\"#/components/headers/ETag\"}, Preference-Applied: {$ref: \"#/components/headers/Preference-Applied\"}}}\n");
    hfd_buf_printf(
        out, "    Problem: {description: \"Refused before the request was looked at.\", %s}\n", content);
    for (size_t i = 1; i < HFD_PROBLEM_COUNT; i++) {
        int status = hfd_problem_rows[i].status;
        if (hfd_problem_rows[i - 1].status == status) continue;
        hfd_buf_printf(out, "    Problem%d:\n      description: \"", status);
        const char *before = "";
        for (size_t k = i; k < HFD_PROBLEM_COUNT && hfd_problem_rows[k].status == status; k++) {
            hfd_buf_printf(out, "%s%s (`%s`)", before, hfd_problem_rows[k].title, hfd_problem_rows[k].slug);
            before = "; ";
        }
        hfd_buf_text(out, "\"\n");
        if (status == 401) put_headers(out, 6, "WWW-Authenticate");
        if (status == 405) put_headers(out, 6, "Allow");
        if (status == 409) put_headers(out, 6, "Retry-After");
        if (status == 429) put_headers(out, 6, "Retry-After, RateLimit, RateLimit-Policy");
        if (status == 503) put_headers(out, 6, "Retry-After");
        hfd_buf_printf(out, "      %s\n", content);
    }
}

static const char SHARED_PARAMETERS[] =
    "components:\n"
    "  securitySchemes:\n"
    "    token: {type: http, scheme: bearer, description: \"A token of the clinic, `hf_…`.\"}\n"
    "    session: {type: apiKey, in: cookie, name: holdfast_session, description: \"A session of a token, by /sign-in; over "
    "HTTPS the name begins with __Host-.\"}\n"
    "  parameters:\n"
    "    id: {name: id, in: path, required: true, schema: {type: string, format: uuid}}\n"
    "    slug: {name: slug, in: path, required: true, schema: {type: string, maxLength: 4096}}\n"
    "    gtin: {name: gtin, in: path, required: true, schema: {type: string, pattern: \"^[0-9]{8}([0-9]{4,6})?$\"}, "
    "description: \"Global Trade Item Number with its check digit.\"}\n"
    "    lot: {name: lot, in: path, required: true, schema: {type: string, minLength: 1, maxLength: 4096}, description: "
    "\"As on the package.\"}\n"
    "    limit: {name: limit, in: query, schema: {type: integer, minimum: 1, maximum: 200, default: 50}}\n"
    "    cursor: {name: cursor, in: query, schema: {type: string, maxLength: 4096}, description: \"next_cursor of the page before, with the "
    "same filters.\"}\n"
    "    total: {name: total, in: query, schema: {type: boolean, default: false}, description: \"Count all rows too.\"}\n"
    "    separator: {name: separator, in: query, schema: {type: string, enum: [comma, semicolon, tab], default: comma}, description: \"Of a "
    "table (text/csv).\"}\n"
    "    \"on\": {name: \"on\", in: query, schema: {type: string, format: date}, description: \"The day that is told for; "
    "left out: that of the visit, or today.\"}\n"
    "    by: {name: by, in: query, schema: {type: string, enum: [site, model, operator, age_group], default: site}, description: "
    "\"What tells the groups apart.\"}\n"
    "    view: {name: view, in: query, schema: {type: string, enum: [all, frontal, sagittal, occlusal, days], default: all}, description: "
    "\"What a drawing (image/svg+xml) shows: the forces in three views or one, or how they fade over the days.\"}\n"
    "    seen: {name: seen, in: query, schema: {enum: [frontal, sagittal, occlusal, all], default: frontal}, description: "
    "\"From where the two cases are drawn.\"}\n"
    "    days: {name: days, in: query, schema: {type: string, maxLength: 4096, default: \"0\"}, description: \"How much "
    "later than recorded.\"}\n"
    "    pointers: {name: pointers, in: query, style: form, explode: true, schema: {type: object, propertyNames: {pattern: "
    "\"^/\"}, additionalProperties: {type: string, maxLength: 4096}}, description: \"What is changed, by pointer into the "
    "mechanics document: a force in N, by how many mm a coordinate is moved, `out` for a screw.\"}\n"
    "    dry_run: {name: dry_run, in: query, schema: {type: boolean, default: false}, description: \"Only tell what would "
    "happen.\"}\n"
    "    on_existing: {name: on_existing, in: query, schema: {type: string, enum: [refuse, skip, update], default: refuse}, description: "
    "\"What becomes of a line whose key is there already.\"}\n"
    "    on_bad: {name: on_bad, in: query, schema: {type: string, enum: [refuse, skip], default: refuse}, description: \"skip: the other "
    "lines are written all the same.\"}\n"
    "    next: {name: next, in: query, schema: {type: string, maxLength: 4096}, description: \"Path of this server to go to "
    "when signed in.\"}\n"
    "    place: {name: cursor, in: query, schema: {type: string, maxLength: 64, default: earliest}, description: \"next_cursor of the answer "
    "before or the id of an event of the stream: what follows it. `earliest`: from the beginning of what is kept; `latest`: what will "
    "happen from now on, where a stream begins that tells no place.\"}\n"
    "    type: {name: type, in: query, schema: {type: string, maxLength: 1000}, description: \"Only events of this type, such as "
    "visit.created; several are parted by commas.\"}\n";

static const char SHARED_FIELDS[] =
    "    Last-Event-ID: {name: Last-Event-ID, in: header, schema: {type: string, maxLength: 64}, description: \"In the place of cursor, as "
    "a browser sends it when it takes a stream up again.\"}\n"
    "    If-Match: {name: If-Match, in: header, required: true, schema: {type: string, maxLength: 8192}, description: \"The row's ETag.\"}\n"
    "    If-None-Match: {name: If-None-Match, in: header, schema: {type: string, maxLength: 8192}, description: \"An ETag that was read: "
    "304 while it is still right.\"}\n"
    "    Prefer: {name: Prefer, in: header, schema: {type: string, maxLength: 8192}, description: \"return=minimal: the row is not sent back, "
    "only where it is and its ETag (RFC 7240).\"}\n"
    "    Idempotency-Key: {name: Idempotency-Key, in: header, schema: {type: string, maxLength: 258}, description: \"1 to 128 visible "
    "characters of the client's own, plain or in quotation marks. Sent again within 24 hours with the same body by the "
    "same token, it gets the first reply again and writes nothing; a refusal is not kept.\"}\n";

static const char SHARED_HEADERS[] =
    "  headers:\n"
    "    ETag: {schema: {type: string}, description: \"Strong; on every form but a page.\"}\n"
    "    Location: {required: true, schema: {type: string}}\n"
    "    Link: {schema: {type: string}, description: \"rel=\\\"next\\\" unless this is the last page (RFC 8288).\"}\n"
    "    Set-Cookie: {required: true, schema: {type: string}}\n"
    "    Allow: {required: true, schema: {type: string}}\n"
    "    Retry-After: {schema: {type: integer}}\n"
    "    WWW-Authenticate: {required: true, schema: {type: string}}\n"
    "    RateLimit: {schema: {type: string}, description: \"r: requests left; t: seconds until all are there again.\"}\n"
    "    RateLimit-Policy: {schema: {type: string}, description: \"q: requests; w: seconds in which they may be sent.\"}\n"
    "    Preference-Applied: {schema: {type: string}}\n"
    "    Idempotency-Replayed: {schema: {const: \"true\"}, description: \"This reply was given before.\"}\n";

static const char PROBLEM[] =
    "    Problem:\n"
    "      type: object\n"
    "      description: RFC 9457. The type resolves on this server.\n"
    "      additionalProperties: false\n"
    "      required: [type, title, status]\n"
    "      properties:\n"
    "        type: {type: string}\n"
    "        title: {type: string}\n"
    "        status: {type: integer}\n"
    "        detail: {type: string}\n"
    "        request_id: {type: string}\n"
    "        trace_id: {type: string, description: \"Of the traceparent that was sent, or of a trace that begins here.\"}\n"
    "        error_count: {type: integer, description: \"All of them, also where errors stops at 200.\"}\n"
    "        errors:\n"
    "          type: array\n"
    "          items:\n"
    "            type: object\n"
    "            additionalProperties: false\n"
    "            required: [detail]\n"
    "            properties:\n"
    "              pointer: {type: string, description: \"JSON pointer (RFC 6901) into the body.\"}\n"
    "              parameter: {type: string, description: \"Query parameter.\"}\n"
    "              detail: {type: string}\n";

static void put_schemas(struct hfd_buf *out, const struct hfd_resource *r) {
    static const char *const endings[] = {
        [HFD_SCHEMA_NEW] = "New", [HFD_SCHEMA_CHANGE] = "Change", [HFD_SCHEMA_READ] = ""};
    for (enum hfd_schema_use use = HFD_SCHEMA_NEW; use <= HFD_SCHEMA_READ; use++) {
        if (use == HFD_SCHEMA_NEW && !(r->verbs & HFD_CREATE)) continue;
        if (use == HFD_SCHEMA_CHANGE && !(r->verbs & HFD_CHANGE)) continue;
        hfd_buf_text(out, "    ");
        hfd_schema_name(out, r->noun);
        hfd_buf_printf(out, "%s:", endings[use]);
        hfd_schema_resource(out, 4, r, use);
    }
}

void hfd_openapi_write(struct hfd_buf *out, const struct hfd_resource *const *resources) {
    hfd_buf_text(out, HEAD);
    for (size_t i = 0; resources[i] != NULL; i++) {
        if (resources[i]->path != NULL) put_verbs(out, resources[i]);
        for (size_t k = 0; k < resources[i]->route_count; k++) {
            const struct hfd_route *route = &resources[i]->routes[k];
            if (shares_path(resources[i], route)) continue;
            /* Methods of one path stand together. */
            if (k == 0 || strcmp(route[-1].path, route->path) != 0)
                hfd_buf_printf(out, "  %s:\n", route->path);
            put_route(out, route);
        }
    }
    hfd_buf_text(out, SHARED_PARAMETERS);
    hfd_buf_text(out, SHARED_FIELDS);
    hfd_buf_text(out, SHARED_HEADERS);
    put_problems(out);
    hfd_buf_text(out, "  schemas:\n");
    hfd_buf_text(out, PROBLEM);
    for (size_t i = 0; resources[i] != NULL; i++)
        if (resources[i]->path != NULL) put_schemas(out, resources[i]);
    hfd_schema_shared(out);
}
