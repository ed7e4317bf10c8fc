#!/bin/sh
# Writes the migrations and the demo clinic as C arrays to standard output. Bytes rather than string literals: C promises
# only 4095 characters of those. Usage: migrations/embed.sh [folder]
set -eu
LC_ALL=C
export LC_ALL
folder=${1:-$(dirname "$0")}

bytes() { # file, symbol
    printf 'static const char %s[] = {\n' "$2"
    od -An -v -td1 "$1" | sed 's/ *\(-\{0,1\}[0-9][0-9]*\)/\1,/g'
    printf '0};\n'
}

rows() { # array, prefix of names, prefix of symbols, files
    array=$1 named=$2 symbol=$3
    shift 3
    number=0
    list=
    for file in "$@"; do
        [ -f "$file" ] || continue
        number=$((number + 1))
        bytes "$file" "$symbol$number"
        sum=$(sha256sum <"$file")
        list="$list    {\"$named$(basename "$file" .sql)\", \"${sum%% *}\", $symbol$number},
"
    done
    printf 'const struct hfd_migration %s[] = {\n%s    {0, 0, 0},\n};\n' "$array" "$list"
}

printf '#include "server/store/migrations.h"\n\n'
rows hfd_migrations '' once "$folder"/[0-9][0-9][0-9][0-9]_*.sql
rows hfd_migrations_always 'always/' always "$folder"/always/*.sql
rows hfd_demo 'demo/' demo "$folder"/demo/*.sql
