/* The public description as a page: what it says, in words, with a line for a shell for every operation. */
#ifndef HFD_CONTRACT_H
#define HFD_CONTRACT_H

#include "../base/buf.h"

/* `contract`: the description (OpenAPI) as YAML. */
void hfd_contract_page(struct hfd_buf *out, const char *contract);

#endif
