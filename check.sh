#!/usr/bin/env bash
# Builds Leafwright and runs every test. On Debian 12 it installs what is missing (root or sudo).
#
# Usage: ./check.sh [--quick | --full]
#   (nothing)  formatting, a release build without warnings, every test
#   --quick    the same without the formatting check
#   --full     also clang-tidy, every test under AddressSanitizer and UndefinedBehaviorSanitizer,
#              and 20 seconds of fuzzing; what CI runs (CI=true means --full)
# JOBS=N sets the number of parallel jobs (default: one a processor). ccache is used where present.
# The last line counts what passed and failed: every test program, and each other step as one.
set -uo pipefail
cd "$(dirname "$0")"

mode=normal
[ "${CI:-}" = true ] && mode=full
case "${1:-}" in
  "") ;;
  --quick) mode=quick ;;
  --full) mode=full ;;
  *) sed -n '2,11s/^# \?//p' "$0"; exit 2 ;;
esac
jobs=${JOBS:-$(nproc)}
fuzz_seconds=20
passed=0
failed=0
failures=()

say() { printf '\n== %s\n' "$*"; }

# step NAME COMMAND...: one thing that passes or fails.
step() {
  local name=$1 start=$SECONDS
  shift
  say "$name"
  if "$@"; then
    passed=$((passed + 1))
    echo "$name: passed in $((SECONDS - start)) s"
  else
    failed=$((failed + 1))
    failures+=("$name")
    echo "$name: FAILED after $((SECONDS - start)) s"
    return 1
  fi
}

formatting() {
  git ls-files -z '*.cpp' '*.hpp' | xargs -0 clang-format --dry-run --Werror
}

build() {
  cmake --preset "$1" -DLEAFWRIGHT_TESTS="${2:-ON}" >"$log" 2>&1 || { cat "$log"; return 1; }
  cmake --build --preset "$1" -j "$jobs"
}

# tests PRESET: every ctest test counts by itself.
tests() {
  local summary bad all
  say "tests ($1)"
  ctest --preset "$1" -j "$jobs" 2>&1 | tee "$log"
  summary=$(grep -E 'tests? failed out of [0-9]+' "$log" | tail -n 1)
  if [ -z "$summary" ]; then
    failed=$((failed + 1))
    failures+=("tests ($1)")
    return 1
  fi
  bad=$(sed -E 's/.*, ([0-9]+) tests? failed out of.*/\1/' <<<"$summary")
  all=$(sed -E 's/.* out of ([0-9]+).*/\1/' <<<"$summary")
  passed=$((passed + all - bad))
  failed=$((failed + bad))
  [ "$bad" -eq 0 ] || failures+=("$bad of tests ($1)")
}

tidy() {
  git ls-files -z 'src/*.cpp' |
    xargs -0 -n 2 -P "$jobs" clang-tidy -p build/release --quiet 2>"$log" ||
    { grep -E 'error:' "$log" || tail -n 40 "$log"; return 1; }
}

fuzz() {
  local programs=(build/fuzz/fuzz/*_fuzz) each name
  [ -x "${programs[0]}" ] || { echo "no fuzz targets"; return 1; }
  each=$((fuzz_seconds / ${#programs[@]}))
  [ "$each" -ge 3 ] || each=3
  for program in "${programs[@]}"; do
    name=$(basename "$program")
    mkdir -p "build/fuzz/found/$name"
    echo "$name, $each s"
    "$program" -max_total_time="$each" -timeout=10 -rss_limit_mb=2048 -verbosity=0 \
      -close_fd_mask=1 -print_final_stats=1 -artifact_prefix="build/fuzz/found/$name-" \
      "build/fuzz/found/$name" "fuzz/corpus/${name%_fuzz}" >"$log" 2>&1 ||
      { tail -n 40 "$log"; return 1; }
    grep -E 'number_of_executed_units' "$log"
  done
}

finish() {
  local each
  rm -f "$log"
  echo
  for each in "${failures[@]}"; do echo "FAILED: $each"; done
  echo "check: $passed passed, $failed failed"
  [ "$failed" -eq 0 ]
  exit
}

log=$(mktemp)
groups=(build test)
[ "$mode" = full ] && groups+=(full)
scripts/install-packages.sh "${groups[@]}" || { failed=1; finish; }

[ "$mode" = quick ] || step formatting formatting
step "build (release)" build release || finish
tests release
if [ "$mode" = full ]; then
  step clang-tidy tidy
  step "build (asan)" build asan && tests asan
  step "build (fuzz)" build fuzz OFF && step fuzz fuzz
fi
finish
