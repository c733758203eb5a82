#!/usr/bin/env bash
# Fetches axe-core, which looks at pages for what keeps people out, into build/axe; nothing of it is built in, served or
# shipped. What is fetched is held against package-lock.json; where it is there already, nothing is asked for.
# Status 1: it could not be had, and the tests that use it report themselves as skipped.
set -euo pipefail
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
top=$(cd "$here/../../../.." && pwd)
to="$top/build/axe"
# shellcheck source=../../../../bench/install.sh
source "$top/bench/install.sh"
if [ -f "$to/node_modules/axe-core/axe.min.js" ] && cmp -s "$here/package-lock.json" "$to/fetched"; then
  echo "== axe-core: there already."
  exit 0
fi
fetch() {
  # A nodejs from elsewhere brings an npm of its own, beside which Debian's cannot be installed.
  command -v npm >/dev/null || install_missing nodejs npm || return 1
  mkdir -p "$to" && rm -f "$to/fetched" && cp "$here/package.json" "$here/package-lock.json" "$to/" || return 1
  (cd "$to" && npm ci --ignore-scripts --no-audit --no-fund --loglevel=error) && cp "$here/package-lock.json" "$to/fetched"
}
if ! fetch; then
  echo "!! axe-core could not be fetched (no network?). NO page is looked at with it: those tests report themselves as skipped." >&2
  exit 1
fi
