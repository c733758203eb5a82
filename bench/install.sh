#!/usr/bin/env bash
# Installs the Debian packages that are missing; says what it does. Sourced by demo.sh and tests/run.sh:
#   install_missing PACKAGE…

build_packages=(
  build-essential cmake ninja-build pkg-config ccache
  libboost-dev libeigen3-dev libspdlog-dev libfmt-dev libssl-dev
  libcli11-dev nlohmann-json3-dev libtomlplusplus-dev
  libserialport-dev libgeographiclib-dev
  libcairo2-dev libpango1.0-dev fonts-dejavu-core libsqlite3-dev libsqlitecpp-dev tzdata
)

as_root() {
  if [ "$(id -u)" -eq 0 ]; then
    "$@"
  elif command -v sudo >/dev/null; then
    sudo "$@"
  else
    echo "Not root and no sudo here. Have an administrator run: $*" >&2
    return 1
  fi
}

install_missing() {
  if ! command -v dpkg-query >/dev/null; then
    echo "This is no Debian system. Install what README.md names under Dependencies, then build with CMake." >&2
    return 1
  fi
  local missing=() package
  for package in "$@"; do
    dpkg-query -W -f='${db:Status-Status}' "$package" 2>/dev/null | grep -qx installed || missing+=("$package")
  done
  if [ ${#missing[@]} -eq 0 ]; then
    echo "== Packages: all there."
    return 0
  fi
  echo "== Packages: installing ${missing[*]}"
  as_root apt-get update -qq &&
    as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null
}
