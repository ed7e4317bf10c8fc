#!/bin/bash
# What `make test` does: builds every variant it needs, then runs the stages one after another beside one private
# PostgreSQL. Every stage ends in a line `N passed, N failed`; the last line here is their sum. A stage that breaks off
# without that line, or in which nothing ran, counts as a failure.
set -uo pipefail
cd "$(dirname "$0")/.."

if [ -z "${HOLDFAST_TEST_CLUSTER:-}" ]; then
    deploy/local/packages.sh test || exit 1
    exec tests/support/with-database.sh "$0"
fi

build=${BUILD:-build}
make=${MAKE:-make}
passed=0
failed=0
logs=$(mktemp -d)
trap 'rm -rf "$logs"' EXIT

stage() { # title, command …
    local title=$1 begin=$SECONDS last code
    shift
    printf '\n== %s\n' "$title"
    "$@" 2>&1 | tee "$logs/stage"
    code=$?
    last=$(tail -n 1 "$logs/stage")
    if [[ $last =~ ^([0-9]+)\ passed,\ ([0-9]+)\ failed$ ]]; then
        passed=$((passed + BASH_REMATCH[1]))
        failed=$((failed + BASH_REMATCH[2]))
        if [ "${BASH_REMATCH[2]}" != 0 ]; then
            grep -E '^ *test_[a-z0-9_]+\.[a-z0-9_]+:$|^ *\[FAIL\]' "$logs/stage" | sed "s/^/failed: $title: /" >> "$logs/failed"
        fi
        if [ "${BASH_REMATCH[2]}" = 0 ] && { [ $code != 0 ] || [ "${BASH_REMATCH[1]}" = 0 ]; }; then
            echo "The stage failed as a whole (exit code $code)."
            failed=$((failed + 1))
        fi
    else
        echo "The stage broke off (exit code $code)."
        failed=$((failed + 1))
    fi
    echo "-- $title: $((SECONDS - begin)) s"
}

compile() { # everything, in one go, so that no stage is measured with a compiler beside it
    local unit replay ask=
    if [ -f tests/support/ask.c ]; then ask=$build/san/tests/support/ask; fi
    unit=$(find tests/unit -name 'test_*.c' | sort | sed "s|\(.*\)\.c|$build/san/\1|")
    replay=$(find tests/fuzz -maxdepth 1 -name '*.c' | sort | sed "s|tests/fuzz/\(.*\)\.c|$build/san/tests/fuzz/replay/\1|")
    # shellcheck disable=SC2086
    $make -k BUILD="$build" $build/{dev,san,clang,o0,release}/holdfastd $ask $unit $replay && echo "1 passed, 0 failed"
}

stage "Build with gcc -O2, -O0 and -O3 with LTO, clang -O2 and sanitizers, no warning" compile
stage "Lint" tests/lint/lint.py "$build/dev/libholdfast-core.a"
mapfile -t unit < <(find tests/unit -name 'test_*.c' | sort | sed "s|\(.*\)\.c|$build/san/\1|")
stage "Unit tests under ASan and UBSan" tests/support/unit.py "${unit[@]}"
stage "Published cases" tests/cases/run.py "$build/san/holdfastd"
stage "Published cases beside ours" tests/validation/run.py "$build/san/holdfastd"
stage "The same bytes from four builds" tests/support/determinism.py "$build"/{o0,dev,clang,release}/holdfastd
stage "HTTP tests under ASan and UBSan" tests/http/run.py "$build/san/holdfastd"
stage "HTTP tests under valgrind" tests/http/run.py --valgrind "$build/dev/holdfastd"
stage "Inputs kept for the fuzzers" tests/fuzz/replay.sh "$build/san/tests/fuzz/replay"
stage "kill -9 under writes" tests/kill/run.py "$build/dev/holdfastd" 9
stage "Idle daemon" tests/support/footprint.py "$build/dev/holdfastd"

if [ -f "$logs/failed" ]; then printf '\n'; cat "$logs/failed"; fi
printf '\n%d s in all\n%d passed, %d failed\n' "$SECONDS" "$passed" "$failed"
[ "$failed" = 0 ] && [ "$passed" -gt 0 ]
