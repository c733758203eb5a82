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
presets=(release asan)
[ -n "${QUICK:-}" ] && presets=(release)
for preset in "${presets[@]}"; do
  echo "== Building: $preset"
  cmake --preset "$preset" >/dev/null
  cmake --build --preset "$preset"
  echo "== Testing: $preset"
  # What measures time and memory, or plays the driver in real time, runs as shipped only.
  leave_out=()
  [ "$preset" = asan ] && leave_out=(-E '^(campaign_|conformance_|controller_firmware_recorded_|FirmwareInAnEmulatedChip|AndGuard/EmergencyStop|kill_test|start_kill_test|line_faults_test|hostile_files|until_decided_test|screen_test|setup_test|station_test|station_pages_test|station_keys_test|report_pages_test|readme_commands)')
  ctest --preset "$preset" -j "$(nproc)" "${leave_out[@]}"
done
echo "== All tests passed.$left_out"
