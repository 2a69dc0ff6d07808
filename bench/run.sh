#!/bin/sh
# Builds and runs every benchmark, and prints one markdown page: bench/run.sh [BUILD_DIR]
# About five minutes on an idle machine. Nothing is written but the build folder.
set -eu
cd "$(dirname "$0")/.."
build=${1:-build-bench}
cmake -S . -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=Release -DLEAFWRIGHT_BENCH=ON \
      -DLEAFWRIGHT_TESTS=OFF >/dev/null
cmake --build "$build" >/dev/null
temporary=$(mktemp -d)
trap 'rm -rf "$temporary"' EXIT

echo "# Benchmarks"
echo
echo "$(sed -n 's/^model name[^:]*: //p' /proc/cpuinfo | head -1), $(nproc) cores, load $(cut -d' ' -f1 /proc/loadavg) at the start; $(c++ --version | head -1); one thread."
echo
echo "## Speed"
echo
"$build/bench/bench_speed" "$temporary/curves.csv"
if /usr/bin/python3 -c 'import scipy' 2>/dev/null; then
  /usr/bin/python3 bench/compare.py "$temporary/curves.csv" 40
else
  echo "| scipy | not installed (python3-scipy) | | |"
fi
echo
echo "## A campaign of 555 curves from CSV to JSON, the whole process"
echo
"$build/bench/bench_make_curves" "$temporary/points.csv" 555
echo "| intervals | CPU s (user + system), median of 9 |"
echo "|---|---|"
for how in profile none; do
  /usr/bin/python3 bench/cpu_time.py "$how" "$build/leafwright" fit "$temporary/points.csv" \
    --pathway c3 --intervals "$how" --json "$temporary/fit.json" --force
done
echo
echo "## Is the exact solver ever beaten?"
echo
"$build/bench/bench_exactness" "${LEAFWRIGHT_EXACT_CURVES:-2000}"
echo
echo "## C4, finite gm, smooth minimum"
echo
"$build/bench/bench_numeric_fits" "${LEAFWRIGHT_NUMERIC_CURVES:-300}" 60
echo
echo "## Do intervals hold the truth?"
echo
"$build/bench/bench_coverage" 10000
echo
echo "## Ramps: speed"
echo
"$build/bench/bench_ramp_speed"
echo
/usr/bin/python3 bench/ramp_process.py "$build/leafwright"
echo
echo "## Ramps: gas path and accuracy"
echo
"$build/bench/bench_ramp_path" "${LEAFWRIGHT_RAMP_DRAWS:-40}"
"$build/bench/bench_ramp_accuracy" "${LEAFWRIGHT_RAMP_DRAWS:-40}"
