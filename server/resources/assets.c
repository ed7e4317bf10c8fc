/* Files that pages refer to. They tell nothing of anybody, so that a browser may keep them. */
#include "../pages/assets.h"

#include <string.h>

#include "../base/digest.h"
#include "../draw/svg.h"
#include "../rest/resource.h"

static const char *text_of(const char *name) {
    if (strcmp(name, "drawing.css") == 0) return hfd_svg_rules;
    const struct hfd_asset *asset = hfd_assets;
    while (asset->name != NULL && strcmp(asset->name, name) != 0)
        asset++;
    return asset->text;
}

static enum hfd_problem_kind read_asset(struct hfd_op *op) {
    const char *text = text_of(strrchr(op->path, '/') + 1);
    if (text == NULL) return HFD_NOT_FOUND;
    char digest[HFD_DIGEST_HEX];
    hfd_digest_hex(text, strlen(text), digest);
    hfd_reply_header(op->reply, "Cache-Control", "no-cache"); /* kept, and asked for again by its tag */
    if (hfd_op_unchanged(op, hf_arena_printf(op->arena, "\"%s\"", digest))) return HFD_OK;
    hfd_op_json(op, text, strlen(text));
    op->reply->content_type = op->produces;
    return HFD_OK;
}

#define ASSET(name, media_type, told)                                                                        \
    {                                                                                                        \
        .method = HFD_GET, .path = "/assets/" name, .roles = HFD_PUBLIC, .operation = read_asset,            \
        .produces = media_type, .what = told, .answers = "{type: string}", .has_etag = true                  \
    }

static const struct hfd_route routes[] = {
    ASSET("style.css", "text/css", "Looks of the pages"),
    ASSET("drawing.css", "text/css", "Looks of the drawings in pages"),
    ASSET("what-if.js", "text/javascript", "Script of the what-if page"),
    ASSET("icon.svg", "image/svg+xml", "Sign of the service"),
};

const struct hfd_resource hfd_resource_assets = {
    .routes = routes, .route_count = HFD_COUNT(routes), .untraced = true};
