#include "contract.h"

#include <ctype.h>
#include <string.h>

#include "members.h"

struct page {
    struct hfd_buf *out;
    const struct hfd_yaml *contract;
};

/* One method of one path. */
struct operation {
    const char *path;
    const struct hfd_yaml *node; /* its key is the method */
};

static const char *slice(const struct page *page, const char *text, size_t length) {
    return hf_arena_printf(page->out->arena, "%.*s", (int)length, text);
}

/* The node itself, or what its "#/components/…" leads to. */
static const struct hfd_yaml *resolve(const struct page *page, const struct hfd_yaml *node) {
    const char *step = hfd_yaml_text(node, "$ref");
    if (step == NULL) return node;
    node = page->contract;
    for (step += strlen("#"); *step == '/'; step += strcspn(step, "/")) {
        step++;
        node = hfd_yaml_at(node, slice(page, step, strcspn(step, "/")));
    }
    return node;
}

static bool is_refusal(const struct hfd_yaml *response) {
    return response->key[0] >= '4';
}

/* The first is what becomes of it when all is well. */
static const struct hfd_yaml *good_response(const struct operation *op) {
    return hfd_yaml_at(op->node, "responses")->first;
}

/* ---------------------------------------------------------------- lines for a shell */

static void put_quoted(const struct page *page, const char *text, size_t length) {
    const char *end = text + length;
    hfd_buf_text(page->out, "&#39;");
    while (text < end) {
        const char *quote = memchr(text, '\'', (size_t)(end - text));
        hfd_html(page->out, "%s%s", slice(page, text, (size_t)((quote ? quote : end) - text)),
            quote ? "'\\''" : "");
        text = quote ? quote + 1 : end;
    }
    hfd_buf_text(page->out, "&#39;");
}

static void put_body_of_line(const struct page *page, const struct hfd_yaml *media) {
    const struct hfd_yaml *example = hfd_yaml_at(media, "example");
    if (strcmp(media->key, "application/json") == 0) {
        hfd_buf_text(page->out, " --json ");
    } else {
        hfd_html(page->out, " -H 'Content-Type: %s' --data-binary ", media->key);
    }
    if (example->text != NULL)
        put_quoted(page, example->text, strlen(example->text));
    else
        put_quoted(page, example->source, example->source_length);
}

/* "/v1/visits/{id}" with $id for what is in braces. */
static void put_address(const struct page *page, const char *path) {
    hfd_buf_text(page->out, " &quot;$HOLDFAST");
    for (; *path != '\0'; path++)
        if (*path != '}') hfd_buf_char(page->out, *path == '{' ? '$' : *path);
    hfd_buf_text(page->out, "&quot;");
}

static bool takes_header(const struct page *page, const struct operation *op, const char *name) {
    const struct hfd_yaml *parameters = hfd_yaml_at(op->node, "parameters");
    for (const struct hfd_yaml *one = parameters ? parameters->first : NULL; one != NULL; one = one->next)
        if (hfd_yaml_says(resolve(page, one), "name", name)) return true;
    return false;
}

/* `accept`: NULL for the form that comes unasked. */
static void put_line(const struct page *page, const struct operation *op, const char *accept) {
    const struct hfd_yaml *body = hfd_yaml_at(hfd_yaml_at(op->node, "requestBody"), "content");
    bool reads = strcmp(op->node->key, "get") == 0;
    hfd_buf_text(page->out, "<pre class=\"shell\"><code>curl");
    if (!reads && (body == NULL || strcmp(op->node->key, "post") != 0)) {
        hfd_buf_text(page->out, " -X ");
        for (const char *c = op->node->key; *c != '\0'; c++)
            hfd_buf_char(page->out, (char)toupper((unsigned char)*c));
    }
    if (accept != NULL && strcmp(accept, "text/event-stream") == 0) hfd_buf_text(page->out, " -N -m 5");
    if (!hfd_yaml_at(op->node, "security"))
        hfd_buf_text(page->out, " -H &quot;Authorization: Bearer $TOKEN&quot;");
    if (takes_header(page, op, "If-Match")) hfd_buf_text(page->out, " -H &quot;If-Match: $etag&quot;");
    if (accept != NULL) hfd_html(page->out, " -H 'Accept: %s'", accept);
    if (body != NULL) put_body_of_line(page, body->first);
    put_address(page, op->path);
    hfd_buf_text(page->out, "</code></pre>\n");
}

/* One for every form of the answer. What redirects is a form of a page. */
static void put_lines(const struct page *page, const struct operation *op) {
    const struct hfd_yaml *response = good_response(op), *content = hfd_yaml_at(response, "content");
    if (response->key[0] == '3') {
        hfd_buf_text(page->out, "<p>For browsers, from a page of this server.</p>\n");
        return;
    }
    for (const struct hfd_yaml *media = content->first; media != NULL; media = media->next)
        put_line(page, op, media == content->first ? NULL : media->key);
}

/* ---------------------------------------------------------------- one operation */

static void put_parameters(const struct page *page, const struct operation *op) {
    const struct hfd_yaml *parameters = hfd_yaml_at(op->node, "parameters");
    if (parameters == NULL) return;
    hfd_buf_text(page->out,
        "<table class=\"members\">\n<caption>Parameters</caption>\n<thead><tr><th scope=\"col\">Name</th>"
        "<th scope=\"col\">Is</th><th scope=\"col\">Means</th></tr></thead>\n<tbody>\n");
    for (const struct hfd_yaml *one = parameters->first; one != NULL; one = one->next) {
        const struct hfd_yaml *parameter = resolve(page, one), *schema = hfd_yaml_at(parameter, "schema");
        const char *what = hfd_yaml_text(parameter, "description");
        hfd_html(page->out,
            "<tr><th scope=\"row\"><code>%s</code>%s <span class=\"quiet\">%s</span></th><td>",
            hfd_yaml_text(parameter, "name"), hfd_yaml_says(parameter, "required", "true") ? " *" : "",
            hfd_yaml_text(parameter, "in"));
        hfd_put_kind(page->out, schema);
        hfd_buf_text(page->out, "</td><td>");
        if (what == NULL) what = hfd_yaml_text(schema, "description");
        if (what != NULL) hfd_put_prose(page->out, what);
        hfd_buf_text(page->out, "</td></tr>\n");
    }
    hfd_buf_text(page->out, "</tbody>\n</table>\n");
}

/* Each media type with what it holds. */
static void put_content(const struct page *page, const struct hfd_yaml *content, const char *caption) {
    for (const struct hfd_yaml *media = content ? content->first : NULL; media != NULL; media = media->next) {
        const struct hfd_yaml *schema = hfd_yaml_at(media, "schema");
        hfd_html(page->out, "<p><code>%s</code>: ", media->key);
        hfd_put_kind(page->out, schema);
        hfd_buf_text(page->out, "</p>\n");
        hfd_put_members(page->out, schema, caption);
    }
}

static void put_answers(const struct page *page, const struct operation *op) {
    for (const struct hfd_yaml *one = good_response(op); one != NULL; one = one->next) {
        if (is_refusal(one) || strcmp(one->key, "default") == 0) continue;
        const struct hfd_yaml *response = resolve(page, one), *headers = hfd_yaml_at(response, "headers");
        hfd_html(page->out, "<h4>Answer %s</h4>\n<p>", one->key);
        hfd_put_prose(page->out, hfd_yaml_text(response, "description"));
        for (const struct hfd_yaml *header = headers ? headers->first : NULL; header != NULL;
             header = header->next)
            hfd_html(page->out, "%s<a href=\"#header-%s\"><code>%s</code></a>",
                header == headers->first ? ". Header fields: " : ", ", header->key, header->key);
        hfd_buf_text(page->out, "</p>\n");
        put_content(page, hfd_yaml_at(response, "content"), "Answer");
    }
}

static void put_refusals(const struct page *page, const struct operation *op) {
    hfd_buf_text(page->out, "<p>Refusals:");
    for (const struct hfd_yaml *one = good_response(op); one != NULL; one = one->next)
        if (isdigit((unsigned char)one->key[0]) && is_refusal(one))
            hfd_html(page->out, " <a href=\"#refusal-%s\">%s</a>", one->key, one->key);
    hfd_buf_text(page->out, "</p>\n");
}

static void put_roles(const struct page *page, const struct operation *op) {
    const struct hfd_yaml *roles = hfd_yaml_at(op->node, "x-roles");
    hfd_buf_text(page->out, roles ? " <span class=\"quiet\">For " : " <span class=\"quiet\">Needs no token");
    for (const struct hfd_yaml *role = roles ? roles->first : NULL; role != NULL; role = role->next)
        hfd_html(page->out, "%s%s", role == roles->first ? "" : ", ", role->text);
    hfd_buf_text(page->out, ".</span>");
}

static void put_operation(const struct page *page, const struct operation *op) {
    const char *id = hfd_yaml_text(op->node, "operationId");
    const struct hfd_yaml *body = hfd_yaml_at(hfd_yaml_at(op->node, "requestBody"), "content");
    hfd_html(page->out,
        "<section class=\"operation\" aria-labelledby=\"%s\">\n<h3 id=\"%s\"><span class=\"method\">%s</span> "
        "<code>%s</code></h3>\n<p>",
        id, id, op->node->key, op->path);
    hfd_put_prose(page->out, hfd_yaml_text(op->node, "summary"));
    hfd_buf_text(page->out, ".");
    put_roles(page, op);
    hfd_buf_text(page->out, "</p>\n");
    put_lines(page, op);
    hfd_buf_text(page->out, "<details>\n<summary>What it takes and answers</summary>\n");
    put_parameters(page, op);
    if (body != NULL) hfd_buf_text(page->out, "<h4>Body</h4>\n");
    put_content(page, body, "Body");
    put_answers(page, op);
    put_refusals(page, op);
    hfd_buf_text(page->out, "</details>\n</section>\n");
}

/* ---------------------------------------------------------------- groups */

static const char service[] = "service";

/* "/v1/visits/{id}/stability": visits. What stands beside the version is about the service itself. */
static const char *group_of(const struct page *page, const char *path) {
    if (strncmp(path, "/v1/", 4) != 0) return service;
    return slice(page, path + 4, strcspn(path + 4, "/."));
}

static bool begins_group(const struct page *page, const struct hfd_yaml *path) {
    const struct hfd_yaml *one = hfd_yaml_at(page->contract, "paths")->first;
    while (strcmp(group_of(page, one->key), group_of(page, path->key)) != 0)
        one = one->next;
    return one == path;
}

static void put_group(const struct page *page, const char *group) {
    hfd_html(page->out, "<h2 id=\"group-%s\">%s</h2>\n", group, group);
    const struct hfd_yaml *path = hfd_yaml_at(page->contract, "paths")->first;
    for (; path != NULL; path = path->next)
        for (const struct hfd_yaml *one = path->first; one != NULL; one = one->next)
            if (strcmp(group_of(page, path->key), group) == 0)
                put_operation(page, &(struct operation){path->key, one});
}

static void put_link_to_group(const struct page *page, const char *group) {
    hfd_html(page->out, "<li><a href=\"#group-%s\">%s</a></li>\n", group, group);
}

/* That of the service itself comes last. */
static void each_group(const struct page *page, void (*put)(const struct page *page, const char *group)) {
    const struct hfd_yaml *path = hfd_yaml_at(page->contract, "paths")->first;
    for (; path != NULL; path = path->next)
        if (begins_group(page, path) && strcmp(group_of(page, path->key), service) != 0)
            put(page, group_of(page, path->key));
    put(page, service);
}

static void put_contents(const struct page *page) {
    hfd_buf_text(page->out, "<nav class=\"contents\" aria-label=\"Contents\">\n<ul>\n");
    each_group(page, put_link_to_group);
    hfd_buf_text(page->out,
        "<li><a href=\"#schemas\">Shapes</a></li>\n<li><a href=\"#headers\">Header fields</a></li>\n"
        "<li><a href=\"#refusals\">Refusals</a></li>\n</ul>\n</nav>\n");
}

/* ---------------------------------------------------------------- what they share */

static void put_schemas(const struct page *page) {
    hfd_buf_text(
        page->out, "<h2 id=\"schemas\">Shapes</h2>\n<p>Members with an asterisk are always there.</p>\n");
    const struct hfd_yaml *one = hfd_yaml_at(hfd_yaml_at(page->contract, "components"), "schemas")->first;
    for (; one != NULL; one = one->next) {
        const char *what = hfd_yaml_text(one, "description");
        hfd_html(page->out, "<h3 id=\"%s\">%s</h3>\n<p>", one->key, one->key);
        if (what != NULL) {
            hfd_put_prose(page->out, what);
            hfd_buf_text(page->out, ": ");
        }
        hfd_put_kind(page->out, one);
        hfd_buf_text(page->out, "</p>\n");
        hfd_put_members(page->out, one, one->key);
    }
}

static void put_headers(const struct page *page) {
    hfd_buf_text(page->out, "<h2 id=\"headers\">Header fields</h2>\n<dl>\n");
    const struct hfd_yaml *one = hfd_yaml_at(hfd_yaml_at(page->contract, "components"), "headers")->first;
    for (; one != NULL; one = one->next) {
        const char *what = hfd_yaml_text(one, "description");
        hfd_html(page->out, "<dt id=\"header-%s\"><code>%s</code></dt>\n<dd>", one->key, one->key);
        hfd_put_kind(page->out, hfd_yaml_at(one, "schema"));
        if (what != NULL) {
            hfd_buf_text(page->out, ". ");
            hfd_put_prose(page->out, what);
        }
        hfd_buf_text(page->out, "</dd>\n");
    }
    hfd_buf_text(page->out, "</dl>\n");
}

/* Problem404 is what a 404 tells. */
static void put_all_refusals(const struct page *page) {
    static const char problem[] = "Problem";
    hfd_buf_text(page->out,
        "<h2 id=\"refusals\">Refusals</h2>\n<p>Each is a <a href=\"#Problem\">Problem</a> of type "
        "<code>application/problem+json</code>. <a href=\"/problems\">What to do about each</a></p>\n<dl>\n");
    const struct hfd_yaml *one = hfd_yaml_at(hfd_yaml_at(page->contract, "components"), "responses")->first;
    for (; one != NULL; one = one->next) {
        const char *status = one->key + strlen(problem);
        if (strncmp(one->key, problem, strlen(problem)) != 0 || *status == '\0') continue;
        hfd_html(page->out, "<dt id=\"refusal-%s\">%s</dt>\n<dd>", status, status);
        hfd_put_prose(page->out, hfd_yaml_text(one, "description"));
        hfd_buf_text(page->out, "</dd>\n");
    }
    hfd_buf_text(page->out, "</dl>\n");
}

/* ---------------------------------------------------------------- the page */

/* Paragraphs are parted by empty lines. */
static void put_paragraphs(const struct page *page, const char *text) {
    while (*text != '\0') {
        const char *end = strstr(text, "\n\n");
        size_t length = end ? (size_t)(end - text) : strlen(text);
        hfd_buf_text(page->out, "<p>");
        hfd_put_prose(page->out, slice(page, text, length));
        hfd_buf_text(page->out, "</p>\n");
        text += length + (end ? 2 : 0);
    }
}

static void put_beginning(const struct page *page) {
    hfd_buf_text(page->out,
        "<h2 id=\"begin\">Before you begin</h2>\n"
        "<p>Every line below runs in a shell where the address of the service and a token are set:</p>\n"
        "<pre class=\"shell\"><code>export HOLDFAST=http://127.0.0.1:8080 TOKEN=$(cat .run/demo-token)</code></pre>\n"
        "<p>and, where a line names them, <code>$id</code> of the row that is meant, <code>$etag</code> as it was read, and "
        "<code>$slug</code>, <code>$gtin</code> or <code>$lot</code>. For a visit:</p>\n"
        "<pre class=\"shell\"><code>id=$(curl -s -H &quot;Authorization: Bearer $TOKEN&quot; "
        "&quot;$HOLDFAST/v1/visits?limit=1&quot; | jq -r '.items[0].id')\n"
        "etag=$(curl -s -o /dev/null -w '%header{etag}' -H &quot;Authorization: Bearer $TOKEN&quot; "
        "&quot;$HOLDFAST/v1/visits/$id&quot;)</code></pre>\n"
        "<p>UUIDs inside bodies are examples; put those of your own rows. The same for programs that make clients: "
        "<a href=\"/v1/openapi.yaml\">/v1/openapi.yaml</a> (OpenAPI 3.1).</p>\n");
}

void hfd_contract_page(struct hfd_buf *out, const char *contract) {
    const struct page page = {out, hfd_yaml_read(contract, out->arena)};
    hfd_html_begin(out, &(struct hfd_frame){.title = "API"});
    hfd_buf_text(out, "<h1>API</h1>\n");
    put_paragraphs(&page, hfd_yaml_text(hfd_yaml_at(page.contract, "info"), "description"));
    put_contents(&page);
    put_beginning(&page);
    each_group(&page, put_group);
    put_schemas(&page);
    put_headers(&page);
    put_all_refusals(&page);
    hfd_html_end(out);
}
