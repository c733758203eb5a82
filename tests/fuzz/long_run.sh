#!/usr/bin/env bash
# long_run.sh [SECONDS [TARGET…]]: fuzzes each target so long with clang's libFuzzer, under the address and undefined-behaviour
# sanitizers, starting from its corpus. SECONDS is 3600 where not said; all targets where none is named.
#
# What is new goes to build/fuzz-findings/TARGET: `corpus` (inputs that reach new code) and `crash-…`, `timeout-…`, `oom-…`
# (inputs that broke something; keep the mended ones in corpus/TARGET). A second or 512 MiB for one input is a finding. The second
# is one of the wall clock: on a machine with other work, FUZZ_TIMEOUT_S gives more.
# Exit status: 0 nothing was found, 1 something was.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
top=$(cd "$here/../.." && pwd)
seconds=${1:-3600}
shift || true
targets=("$@")
if [ ${#targets[@]} -eq 0 ]; then
  for file in "$here"/*_fuzz.cpp; do
    name=$(basename "$file" _fuzz.cpp)
    targets+=("$name")
  done
fi
command -v clang++ > /dev/null || { echo "install clang first (apt-get install clang)"; exit 1; }
cd "$top"
cmake --preset fuzz > /dev/null
cmake --build --preset fuzz --target "${targets[@]/%/_fuzz}"
found=0
for target in "${targets[@]}"; do
  room="$top/build/fuzz-findings/$target"
  mkdir -p "$room/corpus"
  log="$room/log.txt"
  status=0
  "build/fuzz/tests/fuzz/${target}_fuzz" -max_total_time="$seconds" -timeout="${FUZZ_TIMEOUT_S:-1}" -rss_limit_mb=512 -max_len=20000 \
    -print_final_stats=1 -artifact_prefix="$room/" "$room/corpus" "$here/corpus/$target" > "$log" 2>&1 || status=$?
  runs=$(sed -n 's/^stat::number_of_executed_units: *//p' "$log" | tail -1)
  if [ "$status" -ne 0 ]; then
    found=1
    echo "$target: FOUND after ${runs:-?} executions, see $room"
    grep -m 3 -E 'broken:|ERROR:|runtime error:|ALARM' "$log" || true
  else
    echo "$target: $runs executions in $seconds s, nothing found"
  fi
done
exit $found
