#!/usr/bin/env bash
# Writes what the commands in README.md and docs/ print now into their ```console blocks, the pages
# made from the program's own tables, and the README's picture. Read the difference before you commit
# it: it is what readers are promised.
set -euo pipefail
cd "$(dirname "$0")/.."
cmake --preset release >/dev/null
cmake --build --preset release --target leafwright test_house
leafwright=build/release/leafwright
"$leafwright" settings --markdown >docs/settings.md
"$leafwright" help --markdown >docs/commands.md
figures=$(mktemp -d)
trap 'rm -rf "$figures"' EXIT
"$leafwright" fit demo/points.csv --pathway c3 --figures "$figures" --force --quiet >/dev/null
mkdir -p docs/img
cp "$figures/lt-e2-1_aci.svg" docs/img/curve.svg
cp "$figures/contact-sheet.svg" docs/img/contact-sheet.svg
LEAFWRIGHT_REFRESH_DOCS=1 build/release/tests/test_house \
  --gtest_filter=Docs.ShownCommandsPrintWhatIsShown >/dev/null || true
git --no-pager diff --stat -- README.md docs
