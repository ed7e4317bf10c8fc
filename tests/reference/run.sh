#!/bin/sh
# Closed models of the core against finite elements. Survival against R, bent wires and draws against scipy first: seconds.
# Needs gmsh, calculix-ccx, python3-numpy, python3-scipy, r-base-core and r-cran-survival (Debian); minutes.
set -eu
cd "$(dirname "$0")/../.."
build=${BUILD:-build}
# Debian's own Python: numpy and scipy are its packages.
python=${PYTHON:-/usr/bin/python3}
for tool in gmsh ccx Rscript "$python"; do
    command -v "$tool" >/dev/null || { echo "$tool is missing" >&2; exit 2; }
done
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
env -u MAKEFLAGS -u MFLAGS -u MAKELEVEL make "$build/dev/libholdfast-core.a" "$build/dev/holdfastd" >/dev/null
for program in screw_recipe frame_solve elastica_solve survival; do
    cc -std=c17 -D_GNU_SOURCE -O2 -ffp-contract=off -o "$scratch/$program" "tests/reference/$program.c" \
        "$build/dev/libholdfast-core.a" -lm
done
Rscript --vanilla tests/reference/survival.R > "$scratch/survival.txt"
"$scratch/survival" < "$scratch/survival.txt"
PYTHONDONTWRITEBYTECODE=1 "$python" tests/reference/elastica.py "$scratch"
PYTHONDONTWRITEBYTECODE=1 "$python" tests/reference/uncertainty.py "$build/dev/holdfastd"
OMP_NUM_THREADS=$(nproc) PYTHONDONTWRITEBYTECODE=1 "$python" tests/reference/run.py "$scratch"
