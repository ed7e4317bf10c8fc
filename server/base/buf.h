/* Growing text in an arena. The text is NUL-ended at every moment; old copies die with the arena. */
#ifndef HFD_BUF_H
#define HFD_BUF_H

#include <stddef.h>
#include <string.h>

#include "../../core/arena.h"

struct hfd_buf {
    hf_arena *arena;
    char *text;
    size_t length, room;
};

/* `room`: expected length, at least 1. The upper bound is the arena's. */
void hfd_buf_init(struct hfd_buf *buf, hf_arena *arena, size_t room);
void hfd_buf_bytes(struct hfd_buf *buf, const char *bytes, size_t count);
/* Makes room for `count` more bytes and the NUL. */
void hfd_buf_reserve(struct hfd_buf *buf, size_t count);

static inline void hfd_buf_text(struct hfd_buf *buf, const char *text) {
    hfd_buf_bytes(buf, text, strlen(text));
}

static inline void hfd_buf_char(struct hfd_buf *buf, char c) {
    if (buf->room - buf->length < 2) hfd_buf_reserve(buf, 1);
    buf->text[buf->length++] = c;
    buf->text[buf->length] = '\0';
}

void hfd_buf_printf(struct hfd_buf *buf, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* Back to an earlier length. */
void hfd_buf_cut(struct hfd_buf *buf, size_t length);

/* With quotes, escaped as RFC 8785 says (the short escapes, \u00xx for other controls); valid UTF-8 passes as
 * it is, every byte that is not part of any becomes U+FFFD. NULL text is null. */
void hfd_buf_json_string(struct hfd_buf *buf, const char *text);
/* As given (shortest form that reads back the same). */
void hfd_buf_json_real(struct hfd_buf *buf, double value);
/* Computed: 12 significant digits. */
void hfd_buf_json_real12(struct hfd_buf *buf, double value);
void hfd_buf_json_int(struct hfd_buf *buf, long long value);

/* Between tags or in a quoted attribute of HTML, SVG or XML: & < > " ' are escaped, controls but tab and line
 * ends, and bytes that are no UTF-8, become U+FFFD. NULL writes nothing. */
void hfd_buf_markup(struct hfd_buf *buf, const char *text);

#endif
