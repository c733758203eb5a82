#!/usr/bin/env bash
# Installs what is missing, builds Dropledger and runs the demo: a virtual bench drops seeds, the driver records,
# the audit judges. Safe to run again; works from any folder.
set -euo pipefail
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
top=$(dirname "$here")
# shellcheck source=install.sh
source "$here/install.sh"
install_missing "${build_packages[@]}"
from=$PWD
cd "$top"
# One compiler cache for every checkout of this tree.
export CCACHE_BASEDIR="$top" CCACHE_NOHASHDIR=1
echo "== Building (the first time takes about five minutes on two cores)"
cmake --preset release >/dev/null
if [ -t 1 ]; then
    cmake --build --preset release --target dropledger # ninja writes over its one line
elif ! cmake --build --preset release --target dropledger >build/build.log 2>&1; then
    tail -n 40 build/build.log >&2
    echo "The build failed; all it said is in build/build.log" >&2
    exit 1
fi
echo "== Demo"
cd "$from"
exec "$top/build/release/dropledger" demo --out "${1:-$(realpath -m --relative-to=. "$top/build/demo")}"
