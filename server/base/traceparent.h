/* W3C Trace Context: which of a client's traces a request belongs to. */
#ifndef HFD_TRACEPARENT_H
#define HFD_TRACEPARENT_H

#include <stdbool.h>

#define HFD_TRACE_ID_SIZE 33

/* The trace id of a traceparent field. False: not well formed, as if there were none. */
bool hfd_traceparent_read(const char *field, char trace_id[HFD_TRACE_ID_SIZE]);
/* Of a trace that begins here. */
void hfd_trace_id_new(char trace_id[HFD_TRACE_ID_SIZE]);

#endif
