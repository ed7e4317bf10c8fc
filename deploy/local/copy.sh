#!/bin/bash
# backup.sh and restore.sh for the private cluster of `make run`:
#   copy.sh backup [FILE]   write .run/backup-<time>.dump or FILE
#   copy.sh restore FILE    bring it back; the database of now is kept under another name
set -euo pipefail

here=$(cd "$(dirname "$0")" && pwd -P)
root=$(dirname "$(dirname "$here")")
data=$root/.run/pg
command=${1:?usage: copy.sh backup|restore FILE}
file=${2:-}

if [ "$command" = restore ]; then
    [ -n "$file" ] || { echo "Which one? make restore FILE=…" >&2; exit 1; }
    [ -z "$("$here/daemon.sh")" ] || { echo "This checkout is being served: end that first (make stop)." >&2; exit 1; }
fi
[ "$command" = restore ] || [ -d "$data" ] || { echo "There is nothing to copy: make run makes it." >&2; exit 1; }
[ -n "$file" ] || file=$root/.run/backup-$(date -u +%Y%m%dT%H%M%SZ).dump
case $file in /*) ;; *) file=$PWD/$file ;; esac

running=$("$here/daemon.sh")
PGHOST=$("$here/cluster.sh" start "$data")
export PGHOST PGUSER=postgres
if [ -z "$running" ]; then trap '"$here/cluster.sh" stop "$data"' EXIT; fi

if [ "$command" = backup ]; then
    "$root/deploy/backup.sh" "$file" holdfast
else
    if "$here/cluster.sh" psql "$data" -d postgres -t -A -c 'select datname from pg_database' | grep -qx holdfast; then
        before=holdfast_before_$(date -u +%Y%m%dt%H%M%S)
        "$here/cluster.sh" psql "$data" -d postgres -c "alter database holdfast rename to $before"
        echo "What was there is kept as the database $before."
    fi
    "$root/deploy/restore.sh" "$file"
fi
