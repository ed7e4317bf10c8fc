#!/bin/bash
# Brings back what backup.sh wrote: restore.sh FILE. As a superuser of the server (PGHOST, PGUSER …), because only such a
# one may give the tables back to their owner. The roles must be there or are made without a password; set those of the
# house afterwards:  alter role holdfast_app password '…'
# A database of the same name is not touched but stops the restore: rename it first, with the daemon stopped,
#     alter database holdfast rename to holdfast_before;
# Then: `holdfastd migrate` when the program is newer than the copy, `holdfastd check`, and start the daemon.
set -euo pipefail

file=${1:?usage: restore.sh FILE}
sql() { psql -X -q -t -A -v ON_ERROR_STOP=1 -d postgres -c "$1"; }

database=$(pg_restore --list "$file" | sed -n 's/^; *dbname: //p')
[ -n "$database" ] || { echo "$file is no copy of a database" >&2; exit 1; }
if [ -n "$(sql "select 1 from pg_database where datname = '$database'")" ]; then
    echo "There is a database $database; rename it first: alter database \"$database\" rename to \"${database}_before\"" >&2
    exit 1
fi
[ -n "$(sql "select 1 from pg_roles where rolname = 'holdfast_owner'")" ] || sql 'create role holdfast_owner login createrole'
[ -n "$(sql "select 1 from pg_roles where rolname = 'holdfast_app'")" ] ||
    sql 'create role holdfast_app login noinherit nosuperuser nocreatedb nocreaterole nobypassrls'
# Made under its own name only when everything is in it: a restore that breaks off leaves nothing that could be served.
trap 'echo "The restore failed; what there is of it is not served: drop database \"$database\"" >&2' ERR
pg_restore --create --exit-on-error -d postgres "$file"
psql -X -q -d "$database" -c 'analyze'
echo "$database: $(psql -X -q -t -A -d "$database" -c 'select count(*) from holdfast.clinics') clinics, $(
    psql -X -q -t -A -d "$database" -c 'select count(*) from holdfast.patients') patients"
