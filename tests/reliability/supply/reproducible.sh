#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
# reproducible.sh [TARGET FILE]: builds what is committed twice, in two folders whose names differ in
# length, without a compiler cache, and compares the result's SHA-256. By default the whole program;
# e.g. `reproducible.sh holdshelf_mesh mesh/libholdshelf_mesh.a` for one room.
set -euo pipefail
root=$(cd "$(dirname "${BASH_SOURCE[0]}")/../../.." && pwd)
target=${1:-holdshelf}
file=${2:-holdshelf}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
sums=()
for name in a a-folder-with-a-longer-name; do
  mkdir -p "$work/$name"
  git -C "$root" archive HEAD | tar -x -C "$work/$name"
  cmake -S "$work/$name" -B "$work/$name/build" -G Ninja -DHOLDSHELF_TESTS=OFF -DCCACHE=OFF >/dev/null
  cmake --build "$work/$name/build" --target "$target" -- ${JOBS:+-j$JOBS} >/dev/null
  sums+=("$(sha256sum <"$work/$name/build/$file")")
  echo "$name/build/$file ${sums[-1]}"
done
[ "${sums[0]}" = "${sums[1]}" ] && echo "the same"
