#!/usr/bin/env bash
# Installs what is missing, builds and runs every test: first as shipped, then under the address and
# undefined-behaviour sanitizers. Safe to run again; works from any folder. QUICK=1 leaves the sanitizers out.
set -euo pipefail
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
top=$(dirname "$here")
# shellcheck source=../bench/install.sh
source "$top/bench/install.sh"
install_missing "${build_packages[@]}" libgtest-dev libgmock-dev libbenchmark-dev poppler-utils tmux python3 python3-scipy python3-numpy \
  gcc-avr avr-libc libsimavr-dev libelf-dev sigrok-cli chromium gdal-bin \
  lintian man-db groff-base mmdebstrap fakeroot file desktop-file-utils
left_out=""
bash "$top/tests/bench/station/axe/fetch.sh" || left_out=" Skipped: the pages under axe-core, which could not be fetched."
cd "$top"
# One compiler cache for every checkout of this tree.
export CCACHE_BASEDIR="$top" CCACHE_NOHASHDIR=1
build() {
  cmake --preset "$1" >/dev/null && cmake --build --preset "$1"
}
run_tests() {
  ctest --preset "$1" -j "$(nproc)" "${@:2}"
}

echo "== Building: release"
build release
echo "== Testing: release"
run_tests release -LE real_time
if [ -z "${QUICK:-}" ]; then
  mkdir -p build
  # In a session of its own: kernels that share out by session let it wait as a whole.
  setsid nice -n 19 bash -c "{ echo 19 >/proc/self/autogroup; } 2>/dev/null; $(declare -f build); build asan" >build/asan.log 2>&1 &
  sanitized=$!
  trap 'kill -- "-$sanitized" 2>/dev/null || true' EXIT
fi
# These wait more than they work, so the next build goes on beside them, behind them in everything.
echo "== Testing: release, in real time"
run_tests release -L real_time
if [ -z "${QUICK:-}" ]; then
  echo "== Building: asan"
  wait "$sanitized" || { tail -n 60 build/asan.log >&2; exit 1; }
  echo "== Testing: asan"
  run_tests asan -LE as_shipped
fi
echo "== All tests passed.$left_out"
