#!/usr/bin/env bash
# Installs what is missing, builds Dropledger and runs the demo: a virtual bench drops seeds, the driver records,
# the audit judges. Safe to run again; works from any folder.
set -euo pipefail
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
top=$(dirname "$here")
# shellcheck source=install.sh
source "$here/install.sh"
install_missing "${build_packages[@]}"
cd "$top"
# One compiler cache for every checkout of this tree.
export CCACHE_BASEDIR="$top" CCACHE_NOHASHDIR=1
echo "== Building (the first time takes about five minutes on two cores)"
cmake --preset release >/dev/null
cmake --build --preset release --target dropledger
echo "== Demo"
exec "$top/build/release/dropledger" demo --out "${1:-$top/build/demo}"
