#!/bin/bash
# Runs a command beside a private, throw-away PostgreSQL: with-database.sh COMMAND …
# HOLDFAST_TEST_CLUSTER names its data directory (deploy/local/cluster.sh start|stop|psql DIR); inside a run that
# already has one, the command simply uses that.
set -euo pipefail

if [ -n "${HOLDFAST_TEST_CLUSTER:-}" ]; then exec "$@"; fi

# The sanitizers of gcc 12 and clang 14 break now and then where the kernel randomises more than 28 bits of an address.
if [ "$(cat /proc/sys/vm/mmap_rnd_bits 2>/dev/null || echo 0)" -gt 28 ] && [ -z "${HOLDFAST_SAME_ADDRESSES:-}" ] &&
    setarch -R true 2>/dev/null; then
    HOLDFAST_SAME_ADDRESSES=1 exec setarch -R "$0" "$@"
fi

root=$(cd "$(dirname "$0")/../.." && pwd -P)
cluster=$root/deploy/local/cluster.sh
export HOLDFAST_TEST_CLUSTER=$root/.run/test-pg-$$
# Nothing in it outlives the run, so it need not be safe on disk.
export CLUSTER_OPTIONS="-c fsync=off -c synchronous_commit=off -c full_page_writes=off"

# What killed runs left behind.
for old in "$root"/.run/test-pg-*; do
    pid=${old##*-}
    [ -d "$old" ] && ! kill -0 "$pid" 2>/dev/null || continue
    "$cluster" stop "$old" || true
    rm -rf "$old"
done

child=
finish() {
    trap - EXIT INT TERM
    if [ -n "$child" ]; then kill -TERM "$child" 2>/dev/null && wait "$child" 2>/dev/null || true; fi
    "$cluster" stop "$HOLDFAST_TEST_CLUSTER" || true
    rm -rf "$HOLDFAST_TEST_CLUSTER" "$HOLDFAST_TEST_CLUSTER.new"
}
trap finish EXIT
trap 'exit 130' INT
trap 'exit 143' TERM

"$cluster" start "$HOLDFAST_TEST_CLUSTER" > /dev/null
"$@" &
child=$!
code=0
wait "$child" || code=$?
child=
exit "$code"
