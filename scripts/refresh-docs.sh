#!/usr/bin/env bash
# Writes what the commands in README.md and docs/ print now into their ```console blocks. Read the
# difference before you commit it: the blocks are what readers are promised.
set -euo pipefail
cd "$(dirname "$0")/.."
cmake --preset release >/dev/null
cmake --build --preset release --target leafwright test_house
LEAFWRIGHT_REFRESH_DOCS=1 build/release/tests/test_house \
  --gtest_filter=Docs.ShownCommandsPrintWhatIsShown >/dev/null || true
git --no-pager diff --stat -- README.md docs
