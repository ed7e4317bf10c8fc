/* Which addresses a request of ours may go to. */
#ifndef HFD_NETWORK_H
#define HFD_NETWORK_H

#include <stdbool.h>
#include <sys/socket.h>

/* Networks in CIDR notation parted by spaces: "10.1.2.0/24 fd00::/8". */
bool hfd_networks_valid(const char *list);
bool hfd_networks_have(const char *list, const struct sockaddr *address);

/* Reachable by all the world (IANA special-purpose address registries): not of a house, a machine, a link, a
 * test. */
bool hfd_address_is_public(const struct sockaddr *address);

#endif
