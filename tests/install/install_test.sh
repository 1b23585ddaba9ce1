#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
# install_test.sh BUILD SOURCE: installs what was built, by cmake and as Debian packages, each into a
# folder of its own, and uses it there: the program, its page, manual and completion, and the libraries
# from a program of somebody else's.
set -euo pipefail

build=$(realpath "$1") source=$(realpath "$2")
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
mesh=$source/testdata/demo/evening/quay_crimp.ply
export XDG_CACHE_HOME=$work/cache

fail() { echo "install_test: $*" >&2; exit 1; }

# The program as it stands in a prefix: nothing of the build tree is needed.
use_program() {
  local program=$1/bin/holdshelf share=$1/share
  "$program" --version | grep "^holdshelf [0-9]" > /dev/null || fail "no version from $program"
  "$program" measure "$mesh" 2>/dev/null | grep "protrusion  *32.00" > /dev/null || fail "$program measures wrong"
  [ -f "$share/holdshelf/web/index.html" ] || fail "no page below $share"
  strings "$program" | grep -F "$build/web" > /dev/null && fail "$program names its build tree"
  zcat -f "$share"/man/man1/holdshelf-find.1* | grep -F -- '\-\-edge\-depth' > /dev/null ||
    fail "the manual page of find lacks its options"
  local page
  for page in "$share"/man/man[17]/*; do  # What whatis and apropos find.
    lexgrog "$page" | grep -F ": \"$(basename "$page" | sed 's/\.[17].*//') - " > /dev/null ||
      fail "no name and purpose in $page"
  done
  [ -f "$share/doc/holdshelf/reference/formats.md" ] || fail "no reference below $share"
  (
    source "$share/bash-completion/completions/holdshelf"
    mkdir -p "$work/empty" && cd "$work/empty"  # No file's name may be offered.
    COMP_WORDS=(holdshelf climb pl) COMP_CWORD=2
    _holdshelf
    [ "${COMPREPLY[*]}" = place ]
  ) || fail "the completion does not know climb place"
}

cmake --install "$build" --prefix "$work/prefix" > "$work/install.log" || fail "$(cat "$work/install.log")"
use_program "$work/prefix"

flags=
if grep -q '^HOLDSHELF_SANITIZE:BOOL=ON' "$build/CMakeCache.txt"; then flags=-fsanitize=address,undefined; fi
cmake -S "$source/tests/install/consumer" -B "$work/consumer" -G Ninja -DCMAKE_BUILD_TYPE=Release \
  -DCMAKE_PREFIX_PATH="$work/prefix" -DCMAKE_CXX_FLAGS="$flags" > "$work/consumer.log" 2>&1 || fail "$(cat "$work/consumer.log")"
cmake --build "$work/consumer" > "$work/consumer.log" 2>&1 || fail "$(cat "$work/consumer.log")"
[ "$("$work/consumer/consumer" "$mesh")" = 32.00 ] || fail "the consumer measures wrong"

(cd "$work" && cpack --config "$build/CPackConfig.cmake" -B "$work/packages" > "$work/cpack.log" 2>&1) ||
  fail "$(cat "$work/cpack.log")"
dpkg-deb --extract "$work"/packages/holdshelf_*.deb "$work/unpacked"
use_program "$work/unpacked/usr"
dpkg-deb --field "$work"/packages/holdshelf_*.deb Depends | grep libsqlite3 > /dev/null ||
  fail "the package does not say what it depends on"
dpkg-deb --contents "$work"/packages/libholdshelf-dev_*.deb | grep mesh/measure_shape.h > /dev/null ||
  fail "the package of the libraries lacks its headers"
echo "install_test: passed"
