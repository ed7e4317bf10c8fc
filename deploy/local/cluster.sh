#!/bin/bash
# A private PostgreSQL cluster in a directory of its own, reached by a Unix socket only:
#   cluster.sh start DIR    make it if need be, start it, print its socket directory
#   cluster.sh stop DIR     stop it (nothing to do is success)
#   cluster.sh socket DIR   print its socket directory
#   cluster.sh psql DIR …   psql as its superuser
#   cluster.sh database DIR NAME   make the database, if need be, and its owner, the role that migrates
# Everybody who may enter the 0700 socket directory is trusted; nobody else can reach the server.
# CLUSTER_OPTIONS: further `-c name=value` for the server.
set -euo pipefail

die() { echo "cluster: $*" >&2; exit 1; }

[ $# -ge 2 ] || die "usage: cluster.sh start|stop|socket|psql|database DIR"
command=$1
mkdir -p "$2"
data=$(cd "$2" && pwd -P)
shift 2

# Short, because the path of a socket may have about 107 bytes only, and named by the data directory.
socket=/tmp/holdfast-$(id -u)-$(printf %s "$data" | cksum | cut -d ' ' -f 1)

find_bin() {
    local version=*
    if [ -f "$data/PG_VERSION" ]; then version=$(cat "$data/PG_VERSION"); fi
    local found
    found=$(ls -d /usr/lib/postgresql/$version/bin/initdb 2>/dev/null | sort -V | tail -n 1)
    [ -n "$found" ] || die "no PostgreSQL server programs in /usr/lib/postgresql/$version/bin (package postgresql-15)"
    bin=$(dirname "$found")
}

# PostgreSQL refuses to run as root: enter a user namespace of our own (files stay root's), or else, where that is
# forbidden, become the user postgres. A cluster that exists decides by its owner.
choose_user() {
    as=()
    if [ "$(id -u)" != 0 ]; then
        [ -O "$data" ] || die "$data belongs to $(stat -c %U "$data"): remove it, or run as that user"
        return 0
    fi
    local owner=
    if [ -f "$data/PG_VERSION" ]; then owner=$(stat -c %U "$data/PG_VERSION"); fi
    as=(unshare -U --map-user=1000 --map-group=1000 --)
    if [ "$owner" = root ] || { [ "$owner" != postgres ] && "${as[@]}" true 2>/dev/null; }; then return 0; fi
    # Root's home is closed to postgres: then with the one right that passes closed directories.
    local parent capability
    parent=$(dirname "$data")
    for capability in '' dac_read_search dac_override; do
        as=(setpriv --reuid=postgres --regid=postgres --init-groups
            ${capability:+"--inh-caps=+$capability" "--ambient-caps=+$capability"} --)
        if "${as[@]}" stat "$parent/." > /dev/null 2>&1; then return 0; fi
    done
    die "the user postgres cannot enter $parent: move the checkout to a directory that others may enter"
}

# By its command line: the process of a stale postmaster.pid may have died, be a zombie, or be somebody else by now.
alive() {
    local pid
    pid=$(head -n 1 "$data/postmaster.pid" 2>/dev/null) || return 1
    tr '\0' ' ' < "/proc/$pid/cmdline" 2>/dev/null | grep -qF "postgres -D $data "
}

# Made aside and moved: what an interrupted initdb leaves is never taken for a cluster.
make_cluster() {
    local new=$data.new
    rm -rf "${new:?}"
    mkdir -m 700 "$new"
    if [ "${as[0]:-}" = setpriv ]; then chown postgres: "$new"; fi
    "${as[@]}" "$bin/initdb" -D "$new" -U postgres -A trust -E UTF8 --locale=C.UTF-8 --no-instructions > /dev/null
    rmdir "$data"
    mv "$new" "$data"
}

# Somebody else's directory in this place would hand him the database: it has to be ours, whoever made it.
make_socket_directory() {
    local server=${as[0]:-}
    mkdir -m 700 "$socket" 2>/dev/null || true
    case $(stat -c '%F %a %U' "$socket") in
        "directory 700 $(id -un)" | "directory 700 postgres") ;;
        *) die "$socket is in the way" ;;
    esac
    if [ "$server" = setpriv ]; then chown postgres: "$socket"; fi
}

launch() {
    rm -f "$data/postmaster.pid" "$socket"/.s.PGSQL.*
    "${as[@]}" "$bin/pg_ctl" -D "$data" -s -w -t 30 -l "$data/server.log" -o \
        "-c listen_addresses='' -c unix_socket_directories='$socket' -c unix_socket_permissions=0700 -c shared_buffers=32MB ${CLUSTER_OPTIONS:-}" \
        start > /dev/null 2>&1
}

start() {
    make_socket_directory
    if ! alive; then
        if [ ! -f "$data/PG_VERSION" ]; then make_cluster; fi
        # After a kill -9 the children hold the old shared memory for a moment longer.
        local try=0
        until launch; do
            try=$((try + 1))
            if [ $try -ge 10 ]; then
                tail -n 20 "$data/server.log" >&2
                die "PostgreSQL does not start; its log is $data/server.log"
            fi
            sleep 0.5
        done
    fi
    echo "$socket"
}

stop() {
    if alive; then "${as[@]}" "$bin/pg_ctl" -D "$data" -s -m fast -w -t 30 stop > /dev/null; fi
}

query() { psql -X -q -t -A -v ON_ERROR_STOP=1 -h "$socket" -U postgres -d postgres -c "$1"; }

# The owner may make roles, because the first migration makes the one that serves.
database() {
    if [ -z "$(query "select 1 from pg_roles where rolname = 'holdfast_owner'")" ]; then
        query 'create role holdfast_owner login createrole'
    fi
    if [ -z "$(query "select 1 from pg_database where datname = '$1'")" ]; then
        query "create database \"$1\" owner holdfast_owner"
    fi
}

cd / # pg_ctl complains about a working directory that its user cannot read
case $command in
    socket) echo "$socket" ;;
    database) database "$1" ;;
    psql) exec psql -X -q -v ON_ERROR_STOP=1 -h "$socket" -U postgres "$@" ;;
    start) find_bin; choose_user; start ;;
    stop)
        if [ -f "$data/PG_VERSION" ]; then find_bin; choose_user; stop; fi
        rm -rf "$socket"
        rmdir "$data" 2>/dev/null || true # made above when there was nothing to stop
        ;;
    *) die "unknown command $command" ;;
esac
