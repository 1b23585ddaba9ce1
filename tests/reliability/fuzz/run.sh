#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
# Fuzzes the targets of this folder with clang's libFuzzer, AddressSanitizer and
# UndefinedBehaviorSanitizer:
#   run.sh SECONDS [TARGET...]   # each target until it has had that much processor time in all
#   run.sh keep [TARGET...]      # what reached new code, few inputs of it, into corpus/ beside this file
#   run.sh coverage [TARGET...]  # how far the kept inputs come, and where they never come
# JOBS targets run at a time (1 by default). Inputs that reach new code are kept in
# build-fuzz/corpus/TARGET and taken up by the next run, processor time and runs so far in
# build-fuzz/spent/TARGET; what breaks a target is written to build-fuzz/findings/TARGET-*. Prints a line
# a target: processor time, runs, code reached (edges of the compiled program), inputs kept, findings.
# Coverage is counted in our own sources: the functions that are entered, and of their edges those
# that are passed; of the rest many clean up after errors that do not happen. Lines with an edge that
# is never passed are listed in build-fuzz/coverage/TARGET.
set -euo pipefail

here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
root=$(cd "$here/../../.." && pwd)
build=$root/build-fuzz
what=${1:?usage: run.sh SECONDS|keep|coverage [TARGET...]}
shift

export ASAN_OPTIONS=detect_leaks=1:allocator_may_return_null=0
export LSAN_OPTIONS=suppressions=$root/tests/reliability/sanitizers/lsan_suppressions.txt:print_suppressions=0
export UBSAN_OPTIONS=print_stacktrace=1
limits=(-timeout=25 -rss_limit_mb=3000 -malloc_limit_mb=2500)

# A measured scan in words takes more than 8 kB.
most_bytes_of() { [ "$1" = exported ] && echo 32768 || echo 8192; }

# What a target starts from, its own folder first.
inputs_of() {
  local folder
  for folder in "$build/corpus/$1" "$build/seeds/$1" "$here/corpus/$1" "$here/regressions/$1"; do
    [ -d "$folder" ] && echo "$folder"
  done
}

# Processor seconds and runs.
spent_on() { cat "$build/spent/$1" 2>/dev/null || echo 0 0; }
seconds_on() { local seconds runs; read -r seconds runs <<<"$(spent_on "$1")"; echo "$seconds"; }

# In turns of half a minute at least, since the fuzzer counts by the clock and shares the processors.
fuzz() {
  local target=$1 log=$build/fuzz-logs/$1.log dictionary=() inputs used runs left ended=0
  mkdir -p "$build/corpus/$target"
  [ -f "$here/$target.dict" ] && dictionary=(-dict="$here/$target.dict")
  mapfile -t inputs < <(inputs_of "$target")
  while [ "$ended" = 0 ] && [ "$(seconds_on "$target")" -lt "$what" ]; do
    left=$((what - $(seconds_on "$target")))
    TIMEFORMAT='%U %S'
    used=$({ time "$build/fuzz_$target" "${inputs[@]}" "${dictionary[@]}" "${limits[@]}" -max_len="$(most_bytes_of "$target")" \
      -max_total_time=$((left > 30 ? left : 30)) -print_final_stats=1 \
      -artifact_prefix="$build/findings/$target-" >"$log" 2>&1; } 2>&1) || ended=1
    runs=$(sed -n 's/^stat::number_of_executed_units: *//p' "$log")
    awk -v before="$(spent_on "$target")" -v runs="${runs:-0}" \
      '{ split(before, was); printf "%d %d\n", was[1] + $1 + $2, was[2] + runs }' \
      <<<"${used##*$'\n'}" >"$build/spent/$target.new"
    mv "$build/spent/$target.new" "$build/spent/$target"
  done
  local edges all found kept
  edges=$(sed -n 's/.* cov: \([0-9]*\) .*/\1/p' "$log" | tail -1)
  all=$(sed -n 's/.*INFO: Loaded .*(\([0-9]*\) inline 8-bit counters).*/\1/p' "$log" | tail -1)
  found=$(find "$build/findings" -name "$target-*" | wc -l)
  kept=$(find "$build/corpus/$target" -type f | wc -l)
  read -r used runs <<<"$(spent_on "$target")"
  echo "| $target | $used | $runs | ${edges:-?} | ${all:-?} | $kept | $found |"
  return "$ended"
}

keep() {
  local target=$1 inputs
  mapfile -t inputs < <(inputs_of "$target")
  mkdir -p "$build/merged"
  rm -rf "$build/merged/$target" && mkdir "$build/merged/$target"
  # How often an edge is passed is nothing to a replay, and takes ten times as many inputs.
  "$build/fuzz_$target" -set_cover_merge=1 -use_counters=0 "${limits[@]}" -max_len="$(most_bytes_of "$target")" "$build/merged/$target" "${inputs[@]}" \
    >"$build/fuzz-logs/$target-keep.log" 2>&1
  rm -rf "$here/corpus/$target" && mkdir -p "$here/corpus"
  mv "$build/merged/$target" "$here/corpus/$target"
  echo "$target: $(find "$here/corpus/$target" -type f | wc -l) inputs"
}

coverage() {
  local target=$1 inputs
  mapfile -t inputs < <(inputs_of "$target" | grep -v "^$build/corpus/")
  mkdir -p "$build/coverage"
  "$build/fuzz_$target" -runs=0 -print_coverage=1 "${limits[@]}" -max_len="$(most_bytes_of "$target")" "${inputs[@]}" >"$build/fuzz-logs/$target-coverage.log" 2>&1
  # Lines of -print_coverage: "COVERED_FUNC: hits: N edges: A/B NAME FILE:LINE", below each
  # "  UNCOVERED_PC: FILE:LINE".
  awk -v target="$target" -v lines="$build/coverage/$target" '
    { place = $NF }
    place !~ /\/(proto|mesh|capture|catalog)\/[^\/]*:[0-9]+$/ { ours = 0; next }
    { sub(/^.*\/\.\.\//, "", place) }
    /^COVERED_FUNC/ { ours = 1; match($0, /edges: [0-9]+\/[0-9]+/)
                      split(substr($0, RSTART + 7, RLENGTH - 7), edges, "/")
                      functions++; reached += edges[1]; all += edges[2] }
    /^UNCOVERED_FUNC/ { ours = 0 }
    /UNCOVERED_PC/ && ours && place !~ /:0$/ { print place | "sort -u -t: -k1,1 -k2,2n >" lines }
    END { printf "| %s | %d | %d | %d | %.0f %% |\n", target, functions, reached, all, 100 * reached / all }
  ' "$build/fuzz-logs/$target-coverage.log"
}

# One target, called below.
if [ "${HOLDSHELF_FUZZ_ONE:-}" ]; then
  case $what in
    keep) keep "$1" ;;
    coverage) coverage "$1" ;;
    *) fuzz "$1" ;;
  esac
  exit
fi

if [ ! -f "$build/build.ninja" ]; then
  CC=clang CXX=clang++ cmake -S "$root" -B "$build" -G Ninja -DHOLDSHELF_FUZZ=ON \
    -DCMAKE_BUILD_TYPE=None -DCMAKE_CXX_FLAGS="-O1 -g1" >/dev/null
fi
targets=("$@")
if [ ${#targets[@]} -eq 0 ]; then
  for file in "$here"/*_target.cpp; do targets+=("$(basename "$file" _target.cpp)"); done
fi
cmake --build "$build" --target fuzz_seeds "${targets[@]/#/fuzz_}" >&2
mkdir -p "$build/corpus" "$build/findings" "$build/fuzz-logs" "$build/spent"
"$build/fuzz_seeds" "$build/seeds" >/dev/null

case $what in
  keep) ;;
  coverage)
    echo "| target | functions entered | their edges reached | their edges in all | |"
    echo "|---|---|---|---|---|" ;;
  *)
    echo "| target | processor s | runs | edges reached | edges in all | inputs kept | findings |"
    echo "|---|---|---|---|---|---|---|" ;;
esac
export HOLDSHELF_FUZZ_ONE=yes
printf '%s\n' "${targets[@]}" | xargs -P "${JOBS:-1}" -I {} "$here/run.sh" "$what" {}
