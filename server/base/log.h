/* One JSON object per line on standard error. Never a patient's data: callers give ids, names of ours and
 * numbers. */
#ifndef HFD_LOG_H
#define HFD_LOG_H

#include <stddef.h>
#include <stdint.h>

enum hfd_log_level { HFD_LOG_DEBUG, HFD_LOG_INFO, HFD_LOG_WARNING, HFD_LOG_ERROR, HFD_LOG_LEVEL_COUNT };

extern const char *const hfd_log_level_names[HFD_LOG_LEVEL_COUNT];

enum hfd_log_kind { HFD_LOG_IS_TEXT, HFD_LOG_IS_NUMBER, HFD_LOG_IS_MS };

struct hfd_log_field {
    const char *key;
    enum hfd_log_kind kind;
    const char *text; /* NULL: the field is left out */
    int64_t number;   /* of HFD_LOG_IS_MS: nanoseconds, written as milliseconds */
};

#define HFD_LOG_TEXT(name, value)                                                                            \
    ((struct hfd_log_field){.key = (name), .kind = HFD_LOG_IS_TEXT, .text = (value)})
#define HFD_LOG_NUMBER(name, value)                                                                          \
    ((struct hfd_log_field){.key = (name), .kind = HFD_LOG_IS_NUMBER, .number = (int64_t)(value)})
#define HFD_LOG_MS(name, ns) ((struct hfd_log_field){.key = (name), .kind = HFD_LOG_IS_MS, .number = (ns)})

/* hfd_log(HFD_LOG_WARNING, "database lost", HFD_LOG_TEXT("sqlstate", state)); at least one field. */
#define hfd_log(level, event, ...)                                                                           \
    hfd_log_fields(level, event, (const struct hfd_log_field[]){__VA_ARGS__},                                \
        sizeof((const struct hfd_log_field[]){__VA_ARGS__}) / sizeof(struct hfd_log_field))

void hfd_log_fields(
    enum hfd_log_level level, const char *event, const struct hfd_log_field *fields, size_t count);
/* Lines below `least` are dropped. Until it is called: HFD_LOG_INFO. */
void hfd_log_set_least(enum hfd_log_level least);

#define HFD_LOG_LINE_SIZE 2048

/* The line with its end of line; returns its length, always < size. What does not fit is cut from texts,
 * never from the JSON around them. */
size_t hfd_log_line(char *line, size_t size, int64_t unix_ms, enum hfd_log_level level, const char *event,
    const struct hfd_log_field *fields, size_t count);

#endif
