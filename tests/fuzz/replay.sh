#!/bin/bash
# Every input that is kept, through its fuzzer: replay.sh FOLDER-OF-BINARIES. Last line: `N passed, N failed`.
set -uo pipefail
cd "$(dirname "$0")/../.."
folder=$1
passed=0
failed=0
for source in tests/fuzz/*.c; do
    name=$(basename "$source" .c)
    files=$(find "tests/fuzz/corpus/$name" "tests/fuzz/regression/$name" -type f 2>/dev/null | sort)
    if [ "$name" = document ]; then files="$files $(ls api/examples/*.json)"; fi
    # shellcheck disable=SC2086
    if "$folder/$name" $files; then
        passed=$((passed + $(wc -w <<< "$files")))
    else
        echo "  $name failed; one of: $files"
        failed=$((failed + 1))
    fi
done
echo "$passed passed, $failed failed"
[ "$failed" = 0 ] && [ "$passed" -gt 0 ]
