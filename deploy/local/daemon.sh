#!/bin/bash
# Prints the process id of the daemon that `make run` of this checkout started, if it is still there.
# The number kept in .run may belong to somebody else by now: command line and working directory have to fit.
root=$(cd "$(dirname "$0")/../.." && pwd -P)
pid=$(cat "$root/.run/daemon.pid" 2>/dev/null) || exit 0
tr '\0' ' ' < "/proc/$pid/cmdline" 2>/dev/null | grep -q 'holdfastd serve' || exit 0
[ "$(readlink "/proc/$pid/cwd")" = "$root" ] && echo "$pid"
exit 0
