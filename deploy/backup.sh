#!/bin/bash
# Writes one database of Holdfast into one file: backup.sh FILE [DATABASE]
# The database is found as psql finds it (PGHOST, PGPORT, PGUSER, ~/.pgpass, PGSSLMODE …). Row security hides every row
# from an ordinary role, also from the owner, so it needs a role of its own, made once by an administrator:
#     create role holdfast_backup login bypassrls;
#     grant pg_read_all_data to holdfast_backup;
# A role that row security holds is refused; it can never write a copy that lacks rows. The daemon serves on meanwhile:
# the copy is the state of one moment. FILE appears only when it is complete, and only its owner can read it: it holds
# everything about the patients (tokens as digests only), so keep it where such things may be kept, and encrypted.
# To run it every night, with a sign that it worked:
#     [Service] Type=oneshot, User=…, ExecStart=/usr/local/sbin/backup.sh /backup/holdfast-%…
# A copy of each night loses up to a day; for less, add the server's own archive of its log (archive_command).
set -euo pipefail

file=${1:?usage: backup.sh FILE [DATABASE]}
database=${2:-holdfast}
umask 077
new=$(mktemp "$file.XXXXXX")
trap 'rm -f "$new"' EXIT
# --create: the settings and rights of the database itself come along.
pg_dump --format=custom --create --lock-wait-timeout=60000 --file="$new" "$database"
pg_restore --list "$new" > /dev/null
sync "$new"
mv "$new" "$file"
echo "$file: $(stat -c %s "$file") bytes"
