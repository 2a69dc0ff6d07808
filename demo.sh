#!/usr/bin/env bash
# Builds Leafwright and runs its main job on the invented campaign in demo/: what is in the log,
# then one fit a curve, with figures. On Debian 12 it installs what is missing (root or sudo).
#
# Usage: ./demo.sh [FOLDER]      results go to FOLDER (default: out)
set -euo pipefail
cd "$(dirname "$0")"
out=${1:-out}

scripts/install-packages.sh build
options=()
# The tests need packages of their own; leave them as ./check.sh set them where it ran before.
[ -f build/release/CMakeCache.txt ] || options=(-DLEAFWRIGHT_TESTS=OFF)
cmake --preset release "${options[@]}" >/dev/null
cmake --build --preset release --target leafwright -j "$(nproc)"

leafwright=build/release/leafwright
run() {
  printf '\n$ %s\n' "leafwright $*"
  "$leafwright" "$@"
}
mkdir -p "$out"
run look demo/points.csv
run fit demo/points.csv --pathway c3 --out "$out/fits.csv" --json "$out/fits.json" \
  --figures "$out/figures" --report "$out/report.html" --force

printf '\nResults: %s\n' "$out/fits.csv (a table), $out/fits.json (everything), $out/figures/ (SVG)"
printf 'Look at: %s\n' "$out/report.html (in a browser), $out/figures/contact-sheet.svg"
