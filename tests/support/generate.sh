#!/bin/bash
# Writes one generated C source: generate.sh registry|openapi|migrations OUTPUT. The output is touched only when its
# text changed.
set -euo pipefail

registry() {
    local names=() file name
    for file in server/resources/*.c; do
        [ -e "$file" ] || continue
        name=hfd_resource_$(basename "$file" .c)
        if grep -q "^const struct hfd_resource $name = " "$file"; then names+=("$name"); fi
    done
    echo '/* Generated: what server/resources holds. */'
    echo '#include "server/rest/resource.h"'
    for name in "${names[@]}"; do echo "extern const struct hfd_resource $name;"; done
    echo 'const struct hfd_resource *const hfd_resources[] = {'
    for name in "${names[@]}"; do echo "    &$name,"; done
    echo '    NULL,'
    echo '};'
}

# Characters, not one string literal: C promises only 4095 characters for those.
openapi() {
    echo '/* Generated: api/openapi.yaml. */'
    echo '#include <stddef.h>'
    echo 'extern const char hfd_openapi_text[];'
    echo 'extern const size_t hfd_openapi_length;'
    echo 'const char hfd_openapi_text[] = {'
    od -An -v -to1 api/openapi.yaml | sed -E "s/ ([0-7]{3})/'\\\\\1',/g"
    echo "'\\0'};"
    echo 'const size_t hfd_openapi_length = sizeof hfd_openapi_text - 1;'
}

migrations() {
    migrations/embed.sh
}

mkdir -p "$(dirname "$2")"
new=$(mktemp "$2.XXXXXX")
trap 'rm -f "$new"' EXIT
"$1" > "$new"
chmod 644 "$new"
cmp -s "$new" "$2" || mv "$new" "$2"
