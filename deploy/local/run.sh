#!/bin/bash
# What `make run` does: packages, build, private PostgreSQL, demo clinic, daemon; serves until Ctrl-C and then stops
# what it started. State: .run/ in the checkout. PORT: where to listen (8080).
set -euo pipefail

here=$(cd "$(dirname "$0")" && pwd -P)
root=$(dirname "$(dirname "$here")")
cd "$root"
port=${PORT:-8080}
run=$root/.run
data=$run/pg
daemon=
step() { printf '\n== %s\n' "$*"; }

port_taken() { (exec 3<> "/dev/tcp/127.0.0.1/$port") 2>/dev/null; }

finish() {
    trap - EXIT
    trap '' INT TERM
    if [ -n "$daemon" ] && kill -TERM "$daemon" 2>/dev/null; then
        echo "Stopping the daemon (requests in work are finished first) …"
        wait "$daemon" || true
    fi
    rm -f "$run/daemon.pid"
    echo "Stopping the private PostgreSQL …"
    "$here/cluster.sh" stop "$data"
    echo "Stopped. The data stays in $data (\`make clean\` removes it)."
}

[[ $port =~ ^[0-9]+$ ]] && [ "$port" -ge 1 ] && [ "$port" -le 65535 ] || { echo "PORT=$port is no port" >&2; exit 1; }
if port_taken; then
    echo "Port $port is in use: choose another one (make run PORT=8081)," >&2
    echo "or, if it is an earlier run of this checkout, end that first (make stop)." >&2
    exit 1
fi
mkdir -p "$run"
other=$("$here/daemon.sh")
if [ -n "$other" ]; then
    echo "This checkout is being served already, on another port (process $other): make stop ends it." >&2
    exit 1
fi

step "Packages"
"$here/packages.sh" run
echo "All there."

step "Build"
${MAKE:-make} all
echo "build/dev/holdfastd is up to date."

step "Private PostgreSQL in .run/pg"
trap finish EXIT
trap 'exit 0' INT TERM
socket=$("$here/cluster.sh" start "$data")
"$here/cluster.sh" database "$data" holdfast
echo "It listens on the Unix socket in $socket only."

step "Tables and demo clinic"
export HOLDFAST_DATABASE="host=$socket dbname=holdfast user=holdfast_app"
export HOLDFAST_DATABASE_OWNER="host=$socket dbname=holdfast user=holdfast_owner"
export HOLDFAST_PORT=$port
build/dev/holdfastd migrate
build/dev/holdfastd seed-demo

step "Daemon on http://127.0.0.1:$port"
build/dev/holdfastd serve 2> "$run/daemon.log" &
daemon=$!
echo "$daemon" > "$run/daemon.pid"
for _ in $(seq 200); do
    if curl -fs -o /dev/null "http://127.0.0.1:$port/readyz"; then break; fi
    if ! kill -0 "$daemon" 2>/dev/null; then
        tail -n 5 "$run/daemon.log" >&2
        exit 1
    fi
    sleep 0.05
done
echo "Serving; its log is .run/daemon.log."

step "One visit of the demo clinic"
# The token outlives a run; a new one is made when the stored one is not accepted (another database, revoked).
token=$run/demo-token
authorised() { [ -s "$token" ] && curl -fs -o /dev/null -H "Authorization: Bearer $(cat "$token")" "http://127.0.0.1:$port/v1/visits?limit=1"; }
if ! authorised; then
    clinic=$("$here/cluster.sh" psql "$data" -d holdfast -t -A -c 'select id from holdfast.clinics where demo order by created_at limit 1')
    rm -f "$token"
    (umask 077 && build/dev/holdfastd token create --clinic "$clinic" --role clinician --label 'demo of make run' | grep -o 'hf_[A-Za-z0-9_-]*' > "$token")
fi
"$here/show.py" "http://127.0.0.1:$port" "$token"

printf '\nIn a browser: http://127.0.0.1:%s/ (sign in with the token in .run/demo-token)\n' "$port"
printf '\nServing on http://127.0.0.1:%s until Ctrl-C.\n' "$port"
wait "$daemon" || true
echo "The daemon ended; the end of its log:" >&2
tail -n 5 "$run/daemon.log" >&2
daemon=
exit 1
