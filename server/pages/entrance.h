/* The pages before one is signed in. */
#ifndef HFD_ENTRANCE_H
#define HFD_ENTRANCE_H

#include "html.h"

/* For a newcomer. */
void hfd_start_page(struct hfd_buf *out);
/* `next`: where to go afterwards; `refused`: why the last try failed, or NULL. */
void hfd_sign_in_page(struct hfd_buf *out, const char *next, const char *refused);

/* A path of this server that it is safe to lead a browser to: no other host, whatever a browser makes of it.
 */
bool hfd_is_local_path(const char *path);

#endif
