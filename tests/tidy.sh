#!/usr/bin/env bash
# clang-tidy with the limits of .clang-tidy over the program's own files, or over those named:
#   tests/tidy.sh [FILE.cpp…]
# Installs clang and clang-tidy 14 where they are missing. Some 4 s of processor time a file: half an hour for all on one
# core, so it is no part of tests/run.sh. The exit status is not 0 where anything is found.
set -euo pipefail
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
top=$(dirname "$here")
# shellcheck source=../bench/install.sh
source "$top/bench/install.sh"
install_missing "${build_packages[@]}" clang clang-tidy-14 libgtest-dev libgmock-dev
cd "$top"
cmake --preset tidy >/dev/null
cmake --build build/tidy --target house_headers
if [ $# -gt 0 ]; then
  files=("$@")
else
  mapfile -t files < <(git ls-files 'analysis/*.cpp' 'bench/*.cpp' 'calibration/*.cpp' ':!bench/controller/boards')
fi
printf '%s\0' "${files[@]}" | xargs -0 -n 4 -P "$(nproc)" clang-tidy-14 -p build/tidy --quiet
echo "== clang-tidy finds nothing in ${#files[@]} files."
