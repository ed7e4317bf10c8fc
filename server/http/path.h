/* The request target as received, split first and decoded afterwards, so that no escape can make a separator.
 */
#ifndef HFD_PATH_H
#define HFD_PATH_H

#include "../base/form.h"
#include "../base/problem.h"

#define HFD_TARGET_MAX_BYTES 4096

/* From request->target: segments and query. Anything but HFD_OK is a refusal, `detail` says why. */
enum hfd_problem_kind hfd_path_parse(struct hfd_request *request, const char **detail);

/* Bytes of the target before its query: what a log line may show. */
size_t hfd_path_length(const char *target);

#endif
