#include "yaml.h"

#include <assert.h>
#include <string.h>

#include "buf.h"

struct reader {
    const char *at;
    hf_arena *arena;
};

static struct hfd_yaml *node_new(struct reader *r) {
    return memset(HF_NEW(r->arena, struct hfd_yaml), 0, sizeof(struct hfd_yaml));
}

static const char *copy(struct reader *r, const char *text, size_t length) {
    char *out = hf_arena_alloc(r->arena, length + 1);
    memcpy(out, text, length);
    out[length] = '\0';
    return out;
}

static void expect(struct reader *r, char c) {
    assert(*r->at == c);
    r->at++;
}

/* ---------------------------------------------------------------- in one line */

/* The escapes that hfd_buf_json_string() writes. */
static const char *read_quoted(struct reader *r) {
    static const char letters[] = "bfnrt\"\\", meant[] = "\b\f\n\r\t\"\\";
    expect(r, '"');
    char *text = hf_arena_alloc(r->arena, strcspn(r->at, "\n") + 1), *out = text;
    while (*r->at != '"') {
        assert(*r->at != '\0' && *r->at != '\n');
        if (*r->at == '\\') {
            const char *letter = strchr(letters, *++r->at);
            assert(letter != NULL && *letter != '\0');
            *out++ = meant[letter - letters];
            r->at++;
        } else {
            *out++ = *r->at++;
        }
    }
    *out = '\0';
    r->at++;
    return text;
}

static const char *read_bare(struct reader *r, const char *ends) {
    const char *begin = r->at;
    r->at += strcspn(begin, ends);
    size_t length = (size_t)(r->at - begin);
    while (length > 0 && begin[length - 1] == ' ')
        length--;
    return copy(r, begin, length);
}

static void skip_blanks(struct reader *r) {
    r->at += strspn(r->at, " ");
}

static void read_line_value(struct reader *r, struct hfd_yaml *node, const char *ends);

/* What stands between the brackets or braces. */
static void read_row(struct reader *r, struct hfd_yaml *node, bool map) {
    struct hfd_yaml *last = NULL;
    char close = map ? '}' : ']';
    for (r->at++, skip_blanks(r); *r->at != close; skip_blanks(r)) {
        struct hfd_yaml *child = node_new(r);
        if (last != NULL)
            last->next = child;
        else
            node->first = child;
        last = child;
        if (map) {
            child->key = *r->at == '"' ? read_quoted(r) : read_bare(r, ":\n");
            expect(r, ':');
            skip_blanks(r);
        }
        read_line_value(r, child, ",]}\n");
        skip_blanks(r);
        if (*r->at == ',') r->at++;
    }
    r->at++;
}

static void read_line_value(struct reader *r, struct hfd_yaml *node, const char *ends) {
    node->source = r->at;
    if (*r->at == '{' || *r->at == '[')
        read_row(r, node, *r->at == '{');
    else
        node->text = *r->at == '"' ? read_quoted(r) : read_bare(r, ends);
    node->source_length = (size_t)(r->at - node->source);
}

/* ---------------------------------------------------------------- by indentation */

/* To the first mark of the next line that has one; its column. */
static size_t next_line(struct reader *r) {
    while (*r->at == '\n')
        r->at++;
    return strspn(r->at, " ");
}

/* The lines that are indented by more than `column`, without that. */
static const char *read_lines(struct reader *r, size_t column) {
    struct hfd_buf out;
    hfd_buf_init(&out, r->arena, 256);
    expect(r, '|');
    expect(r, '\n');
    for (size_t indent = strspn(r->at, " "); *r->at != '\0';) {
        size_t blanks = strspn(r->at, " ");
        if (r->at[blanks] != '\n' && blanks <= column) break;
        r->at += blanks < indent ? blanks : indent;
        size_t line = strcspn(r->at, "\n");
        hfd_buf_bytes(&out, r->at, line);
        hfd_buf_char(&out, '\n');
        r->at += line + (r->at[line] == '\n');
    }
    return out.text;
}

static void read_block(struct reader *r, struct hfd_yaml *node, size_t column);

/* What follows "key:" or "-", in the same line or below. */
static void read_value(struct reader *r, struct hfd_yaml *node, size_t column, bool item) {
    skip_blanks(r);
    if (*r->at == '|') {
        node->text = read_lines(r, column);
    } else if (*r->at == '\n') {
        size_t deeper = next_line(r);
        if (deeper <= column) return;
        r->at += deeper;
        read_block(r, node, deeper);
    } else if (item && strchr("{[\"", *r->at) == NULL) {
        read_block(r, node, column + 2);
    } else {
        read_line_value(r, node, "\n");
    }
}

/* A map or list whose lines begin at `column`; the first of them has been gone to. */
static void read_block(struct reader *r, struct hfd_yaml *node, size_t column) {
    struct hfd_yaml *last = NULL;
    for (;;) {
        struct hfd_yaml *child = node_new(r);
        bool item = *r->at == '-';
        if (last != NULL)
            last->next = child;
        else
            node->first = child;
        last = child;
        if (!item) child->key = *r->at == '"' ? read_quoted(r) : read_bare(r, ":\n");
        expect(r, item ? '-' : ':');
        read_value(r, child, column, item);
        size_t next = next_line(r);
        if (*r->at == '\0' || next < column) return;
        assert(next == column);
        r->at += next;
    }
}

const struct hfd_yaml *hfd_yaml_read(const char *text, hf_arena *arena) {
    struct reader r = {.at = text, .arena = arena};
    struct hfd_yaml *root = node_new(&r);
    read_block(&r, root, 0);
    assert(*r.at == '\0');
    return root;
}

/* ---------------------------------------------------------------- what it says */

const struct hfd_yaml *hfd_yaml_at(const struct hfd_yaml *node, const char *key) {
    const struct hfd_yaml *member = node ? node->first : NULL;
    while (member != NULL && (member->key == NULL || strcmp(member->key, key) != 0))
        member = member->next;
    return member;
}

const char *hfd_yaml_text(const struct hfd_yaml *node, const char *key) {
    const struct hfd_yaml *member = hfd_yaml_at(node, key);
    return member ? member->text : NULL;
}

bool hfd_yaml_says(const struct hfd_yaml *node, const char *key, const char *text) {
    const char *told = hfd_yaml_text(node, key);
    return told != NULL && strcmp(told, text) == 0;
}
