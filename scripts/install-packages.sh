#!/usr/bin/env bash
# Installs what is missing of scripts/packages.txt. Asks the package manager's own records first:
# where nothing is missing, this takes a moment and needs neither root nor a network.
#
# Usage: scripts/install-packages.sh GROUP...      (build, test, full, bench, elsewhere)
set -euo pipefail
cd "$(dirname "$0")/.."

[ $# -gt 0 ] || { sed -n '2,5s/^# \?//p' "$0"; exit 2; }
if ! command -v dpkg-query >/dev/null; then
  echo "No dpkg here: this is not Debian. Install by hand what scripts/packages.txt lists." >&2
  exit 0
fi

missing=()
for group in "$@"; do
  while read -r package; do
    state=$(dpkg-query -W -f '${db:Status-Abbrev}' "$package" 2>/dev/null || true)
    case "$state" in ii*) ;; *) missing+=("$package") ;; esac
  done < <(awk -v g="$group" '$1 == g {print $2}' scripts/packages.txt)
done
[ ${#missing[@]} -gt 0 ] || exit 0

as_root=()
if [ "$(id -u)" -ne 0 ]; then
  if ! command -v sudo >/dev/null; then
    echo "Missing packages: ${missing[*]}" >&2
    echo "Neither root nor sudo here: have them installed, then try again." >&2
    exit 3
  fi
  as_root=(sudo)
fi
echo "Installing: ${missing[*]}"
"${as_root[@]}" apt-get update -q
"${as_root[@]}" env DEBIAN_FRONTEND=noninteractive \
  apt-get install -q -y --no-install-recommends "${missing[@]}"
