#!/usr/bin/env bash
# Builds Leafwright and runs its main job on the invented campaign in demo/: what is in a log, then
# the whole study, from the recorder's logs to a report, and a second one at four temperatures. On
# Debian 12 it installs what is missing (root or sudo).
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
run look demo/terrace-1.txt
run run demo/study.toml --out "$out" --force
run run demo/temperature/study.toml --out "$out/temperature" --force

printf '\nResults: %s\n' "$out/points.csv, $out/fits.csv (tables), $out/fits.json (everything), $out/figures/ (SVG)"
printf 'Look at: %s\n' "$out/report.html (in a browser), $out/figures/contact-sheet.svg, $out/temperature/report.html"
