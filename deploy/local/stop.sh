#!/bin/bash
# Stops what `make run` of this checkout may have left: the daemon, then the private PostgreSQL.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd -P)
run=$(dirname "$(dirname "$here")")/.run

if [ -f "$run/daemon.pid" ]; then
    pid=$(cat "$run/daemon.pid")
    # The number may be somebody else's by now.
    if tr '\0' ' ' < "/proc/$pid/cmdline" 2>/dev/null | grep -q 'holdfastd serve'; then
        echo "Stopping the daemon (process $pid) …"
        kill -TERM "$pid"
        for _ in $(seq 300); do
            kill -0 "$pid" 2>/dev/null || break
            sleep 0.1
        done
    fi
    rm -f "$run/daemon.pid"
fi
if [ -d "$run/pg" ]; then
    "$here/cluster.sh" stop "$run/pg"
    echo "The private PostgreSQL is stopped."
fi
