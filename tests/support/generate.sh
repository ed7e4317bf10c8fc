#!/bin/bash
# Writes one generated C source: generate.sh registry|migrations|rules|assets OUTPUT. The output is touched only when its
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

migrations() {
    migrations/embed.sh
}

# Bytes rather than a string literal: C promises only 4095 characters of that. Comments and indents stay behind.
rules() {
    echo '/* Generated: server/draw/rules.css. */'
    echo '#include "server/draw/svg.h"'
    echo 'const char hfd_svg_rules[] = {'
    tr '\n' ' ' < server/draw/rules.css | sed 's:/\*[^*]*\*/::g; s/  */ /g; s/ *\([{};]\) */\1/g' |
        od -An -v -td1 | sed 's/ *\(-\{0,1\}[0-9][0-9]*\)/\1,/g'
    echo '0};'
}

# Bytes rather than string literals: C promises only 4095 characters of those.
assets() {
    local file number=0 list=
    echo '/* Generated: the files of server/pages/assets. */'
    echo '#include "server/pages/assets.h"'
    for file in server/pages/assets/*; do
        number=$((number + 1))
        echo "static const char text$number[] = {"
        od -An -v -td1 "$file" | sed 's/ *\(-\{0,1\}[0-9][0-9]*\)/\1,/g'
        echo '0};'
        list+="    {\"${file##*/}\", text$number},"$'\n'
    done
    printf 'const struct hfd_asset hfd_assets[] = {\n%s    {0, 0},\n};\n' "$list"
}

mkdir -p "$(dirname "$2")"
new=$(mktemp "$2.XXXXXX")
trap 'rm -f "$new"' EXIT
"$1" > "$new"
chmod 644 "$new"
cmp -s "$new" "$2" || mv "$new" "$2"
