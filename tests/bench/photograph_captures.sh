#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
# Photographs the captures of tests/bench/README.md: 36 photos each, paper that lifts off the table.
#   tests/bench/photograph_captures.sh DIR [NAME...]     # some 4 minutes of processor time a capture
# What is there already is left. The demo's ledge and bowl are linked, not photographed again.
set -euo pipefail

root=$(cd "$(dirname "${BASH_SOURCE[0]}")/../.." && pwd)
out=${1:?usage: photograph_captures.sh DIR [NAME...]}
shift
mkdir -p "$out"
out=$(cd "$out" && pwd)
names=("$@")
[ ${#names[@]} -gt 0 ] || names=(edge smooth dome chip fin jug demo_ledge demo_bowl rounded pocket)

# booth NAME OPTIONS...: the photobooth leaves no half folder.
booth() {
  [ -e "$out/$1" ] || "$root/build/photobooth" --out "$out/$1" --bend 0.5 "${@:2}"
}

for name in "${names[@]}"; do
  case $name in
    demo_*) ln -sfn "$root/testdata/demo/${name#demo_}" "$out/$name" ;;
    edge) booth edge --shape edge --colour orange --seed 31 ;;
    smooth) booth smooth --shape edge --texture 0.1 --colour yellow --seed 32 ;;
    dome) booth dome --shape dome --colour blue --mat A3 --turntable --seed 33 ;;
    chip) booth chip --shape chip --colour green --chalk 0.2 --seed 34 ;;
    fin) booth fin --shape fin --colour red --seed 35 ;;
    jug) booth jug --shape jug --colour purple --chalk 0.1 --gloss 0.3 --seed 36 ;;
    rounded) booth rounded --shape rounded --colour purple --turntable --seed 16 ;;
    pocket) booth pocket --shape pocket --colour pink --seed 18 ;;
    edge12mp) booth edge12mp --shape edge --colour orange --width 4000 --height 3000 --samples 2 --seed 37 ;;
    *)
      echo "$name is no capture of this bench" >&2
      exit 2
      ;;
  esac
done
