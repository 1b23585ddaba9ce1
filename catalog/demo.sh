#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
# Builds Holdshelf and takes two holds of an invented gym from photos into a fresh library, on a
# machine that needs nothing but git before. A few minutes.
set -euo pipefail

root=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
build=$root/build
library=$build/demo-library

"$root/.ci/install-packages"
[ -f "$build/build.ninja" ] || cmake -S "$root" -B "$build" -G Ninja
cmake --build "$build" --target holdshelf
holdshelf=$build/holdshelf
rm -rf "$library" "$build/demo"

say() { printf '\n== %s\n' "$*"; }

# take CAPTURE ID NAME BIN: one hold from its photos into the library.
take() {
  say "Intake of $3, from $(ls "$root/testdata/demo/$1"/*.jpg | wc -l) photos"
  "$holdshelf" intake --library "$library" --mat "$root/testdata/demo/$1/mat.json" \
    --id "$2" --name "$3" --bin "$4" --set Harbour "$root/testdata/demo/$1"/*.jpg
  "$holdshelf" export --library "$library" --out "$build/demo/$1" "$2"
}

take ledge H-0001 "Harbour ledge" A1
take bowl H-0002 "Harbour bowl" A2

say "The library"
"$holdshelf" find --library "$library"

say "Which one has a four-finger incut edge? (find --edge-depth 18..26 --incut 5.. --fingers 4..)"
"$holdshelf" find --library "$library" --edge-depth 18..26 --incut 5.. --fingers 4..

say "And one that does not exist: a deep edge on a hold that sticks out 10 mm at most"
"$holdshelf" find --library "$library" --edge-depth 18.. --protrusion ..10

cat <<END

== What next
Look at what was rebuilt:  $build/demo/*/contact-sheet.png, and hold.glb in any 3D viewer.
Ask it for one hold:       $holdshelf show --library $library H-0001
Search by feel:            $holdshelf find --library $library --lip-radius 3..8 --edge-width 40..
Your own holds:            print a mat, put a hold on it, take 30 to 40 photos around it at three
                           heights, then
                           $holdshelf intake --mat MAT.json --name "..." --bin B1 PHOTO...
END
