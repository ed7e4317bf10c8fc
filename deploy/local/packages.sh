#!/bin/bash
# Installs, by apt, what is missing for `make run` (packages.sh run), `make test` (packages.sh test), the fuzzers
# (packages.sh fuzz), the bench of requests (packages.sh bench), the look at pages (packages.sh browser) or the
# comparisons with finite elements and R (packages.sh reference). Does and says nothing when all is there.
set -euo pipefail

build=(gcc libc6-dev libmicrohttpd-dev libjansson-dev libpq-dev libsodium-dev libgnutls28-dev libcurl4-gnutls-dev postgresql-15 postgresql-client-15 python3)
run=("${build[@]}" curl ca-certificates)
test=("${run[@]}" binutils clang clang-format jq libclang-rt-14-dev libcriterion-dev openssl valgrind python3-yaml python3-jsonschema)
fuzz=("${build[@]}" clang libclang-rt-14-dev)
# And Node.js 20 or later with npm, which Debian 12 does not have: for these two.
bench=("${build[@]}" wrk nginx-light)
browser=("${build[@]}" chromium fonts-dejavu-core fonts-liberation)
reference=(gmsh calculix-ccx python3-numpy python3-scipy r-base-core r-cran-survival)

declare -n wanted=${1:?usage: packages.sh run|test|fuzz|bench|browser|reference}
command -v dpkg-query > /dev/null || { echo "This is no Debian: not looking for packages. Needed: ${wanted[*]}"; exit 0; }

missing=()
for package in "${wanted[@]}"; do
    [ "$(dpkg-query -W -f '${db:Status-Status}' "$package" 2>/dev/null)" = installed ] || missing+=("$package")
done
[ ${#missing[@]} -gt 0 ] || exit 0

echo "Missing packages: ${missing[*]}"
as=()
if [ "$(id -u)" != 0 ]; then
    command -v sudo > /dev/null || { echo "Install them as root: apt-get install ${missing[*]}" >&2; exit 1; }
    as=(sudo)
    echo "Installing them needs root: sudo apt-get …"
fi

# The server package would set up a system-wide cluster `main` and start it; nobody here asked for one.
case " ${missing[*]} " in *" postgresql-15 "*)
    if [ ! -e /etc/postgresql-common/createcluster.conf ]; then
        echo "Writing /etc/postgresql-common/createcluster.conf, so that no system-wide cluster is made"
        "${as[@]}" mkdir -p /etc/postgresql-common
        echo 'create_main_cluster = false' | "${as[@]}" tee /etc/postgresql-common/createcluster.conf > /dev/null
    fi ;;
esac

apt=("${as[@]}" env DEBIAN_FRONTEND=noninteractive apt-get -y -o DPkg::Lock::Timeout=300 -o Dpkg::Options::=--force-confold)
"${apt[@]}" update
"${apt[@]}" install --no-install-recommends "${missing[@]}"
