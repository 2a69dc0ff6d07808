#!/usr/bin/env bash
# Line coverage of src/ by the tests, one line a file (needs gcov, which comes with g++).
set -euo pipefail
cd "$(dirname "$0")/.."
cmake --preset coverage >/dev/null
cmake --build --preset coverage -j "$(nproc)"
find build/coverage -name '*.gcda' -delete
ctest --preset coverage -j "$(nproc)" -E '^install$' >/dev/null || echo "some tests failed"
cd build/coverage
find . -path '*leafwright_*' -name '*.gcda' -print0 |
  xargs -0 gcov -n -r -s "$(cd ../.. && pwd)" 2>/dev/null |
  awk -F"'" '/^File/ {file = $2; next}
             /^Lines executed/ && file ~ /^src\// {
               split($0, a, /[:% ]+/); print a[3] "%\t" file; file = ""}' |
  sort -u -t "$(printf '\t')" -k 2
