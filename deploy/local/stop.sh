#!/bin/bash
# Stops what `make run` of this checkout may have left: the daemon, then the private PostgreSQL.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd -P)
run=$(dirname "$(dirname "$here")")/.run

pid=$("$here/daemon.sh")
if [ -n "$pid" ]; then
    echo "Stopping the daemon (process $pid) …"
    kill -TERM "$pid"
    for _ in $(seq 300); do
        kill -0 "$pid" 2>/dev/null || break
        sleep 0.1
    done
fi
rm -f "$run/daemon.pid"
if [ -d "$run/pg" ]; then
    "$here/cluster.sh" stop "$run/pg"
    echo "The private PostgreSQL is stopped."
fi
