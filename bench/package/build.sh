#!/usr/bin/env bash
# Installs what is missing, builds Dropledger and packs it: build/package/dropledger_VERSION_amd64.deb.
# Safe to run again; works from any folder.
set -euo pipefail
top=$(cd "$(dirname "${BASH_SOURCE[0]}")/../.." && pwd)
# shellcheck source=../install.sh
source "$top/bench/install.sh"
install_missing "${build_packages[@]}" dpkg-dev file gcc-avr avr-libc
cd "$top"
# One compiler cache for every checkout of this tree.
export CCACHE_BASEDIR="$top" CCACHE_NOHASHDIR=1
cmake --preset release >/dev/null
cmake --build --preset release --target package_files
deb=$(bash bench/package/pack.sh build/release build/package)
echo "== Install it with: sudo apt install ./${deb#"$top"/}"
