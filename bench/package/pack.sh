#!/usr/bin/env bash
# Packs what is built: pack.sh BUILD OUT makes OUT/dropledger_VERSION_ARCHITECTURE.deb and prints its name.
# The same build gives the same bytes: times are SOURCE_DATE_EPOCH, the last commit's where it is not set.
set -euo pipefail
[ $# -eq 2 ] || { echo "usage: pack.sh BUILD OUT" >&2; exit 64; }
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
build=$(cd "$1" && pwd)
mkdir -p "$2"
out=$(cd "$2" && pwd)
if [ -z "${SOURCE_DATE_EPOCH:-}" ]; then
    SOURCE_DATE_EPOCH=$(git -C "$here" log -1 --format=%ct 2>/dev/null) ||
        SOURCE_DATE_EPOCH=$(dpkg-parsechangelog -l "$here/files/changelog" -S Timestamp)
fi
export SOURCE_DATE_EPOCH
umask 022 # CPack gives folders and members what the umask leaves
rm -f "$out"/dropledger_*.deb # of earlier versions
cd "$out" # CPack looks for shared libraries of ours from here
cpack --config "$build/CPackConfig.cmake" -G DEB -B "$out" >"$out/pack.log" 2>&1 ||
    { cat "$out/pack.log" >&2; exit 1; }
rm -rf "$out/_CPack_Packages"
ls "$out"/dropledger_*.deb
