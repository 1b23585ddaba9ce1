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

# An invented evening. The two photographed holds are too few for a climb, so that small meshes of
# exactly known shape join them (made by tests/bench/evening_holds_bench.cpp).
"$holdshelf" gym set "$root/testdata/demo/gym.json" --library "$library" > "$build/demo/gym.txt"

# shelve ID FILE NAME BIN: one ready-made mesh into the library, green.
shelve() {
  "$holdshelf" shelve --library "$library" --id "$1" --name "$3" --bin "$4" --set Evening \
    --colour green "$root/testdata/demo/evening/$2.ply" > /dev/null 2>&1
}

say "An evening: eight more holds for it, as ready-made meshes"
shelve H-0011 quay_crimp "Quay crimp" A3
shelve H-0012 pier_crimp "Pier crimp" B1
shelve H-0013 slipway_jug "Slipway jug" B2
shelve H-0014 bollard_high "Bollard, high" B1
shelve H-0015 bollard_low "Bollard, low" B1
shelve H-0016 gravel_step "Gravel step" A3
shelve H-0017 shingle_chip "Shingle chip" A3
shelve H-0018 buoy "Buoy" B2

evening() { "$holdshelf" "$1" "$2" --library "$library" "${@:3}"; }

say "A crate for the overhanging harbour wave, and what to put into it"
evening crate start --name "green 7" --colour green --zone "harbour wave" --grade "hard, for the strong" \
  --setter Maren
evening crate suggest C-0001 "two incut crimps, one big-radius jug to finish, a spread of sizes" --others 1

say "What to fetch, with its bolts (also build/demo/pick-a4.pdf and pick-pocket.pdf)"
evening crate add C-0001 H-0011 H-0012 --wish crimp > /dev/null
evening crate add C-0001 H-0014 --wish finish > /dev/null
evening crate add C-0001 H-0016 --foot > /dev/null
evening crate pick C-0001 --pdf "$build/demo/pick-a4.pdf" --have 30=10 35=10 40=10 45=10
evening crate pick C-0001 --pdf "$build/demo/pick-pocket.pdf" --paper pocket > /dev/null

say "On the wall, and a look over it"
evening climb place C-0001 H-0016 --panel "wave lower" --column 5 --row 2 --bolt "M10 × 35" > /dev/null
evening climb place C-0001 H-0011 --panel "wave lower" --column 4 --row 9 --bolt "M10 × 35" > /dev/null
evening climb place C-0001 H-0012 --panel "wave lower" --column 6 --row 12 --bolt "M10 × 30" > /dev/null
evening climb place C-0001 H-0014 --panel "wave top" --column 5 --row 6 --bolt "M10 × 45" > /dev/null
evening climb check C-0001

say "Both are cured by a swap from the shelf"
evening climb swap C-0001 H-0016 H-0017 > /dev/null
evening climb swap C-0001 H-0014 H-0015 > /dev/null
evening climb bolt C-0001 H-0017 "2 screws 5 × 16" > /dev/null
evening climb bolt C-0001 H-0015 "M10 × 40" > /dev/null
evening climb note C-0001 --hold H-0012 --text "fine with either hand; clean it often" > /dev/null
evening climb check C-0001
evening climb open C-0001

say "Some weeks later it is stripped; the record stays"
evening climb strip C-0001 --to wash
evening climb history C-0001

cat <<END

== What next
Look at what was rebuilt:  $build/demo/*/contact-sheet.png, and hold.glb in any 3D viewer.
Ask it for one hold:       $holdshelf show --library $library H-0001
The evening's pick list:   $build/demo/pick-a4.pdf
Search by feel:            $holdshelf find --library $library --lip-radius 3..8 --edge-width 40..
Your own holds:            print a mat, put a hold on it, take 30 to 40 photos around it at three
                           heights, then
                           $holdshelf intake --mat MAT.json --name "..." --bin B1 PHOTO...
END
