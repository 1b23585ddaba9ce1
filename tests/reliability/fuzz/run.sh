#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
# Fuzzes the targets of this folder with clang's libFuzzer, AddressSanitizer and
# UndefinedBehaviorSanitizer:
#   tests/reliability/fuzz/run.sh SECONDS [TARGET...]     # each target that long, one after the other
# Inputs that reach new code are kept in build-fuzz/corpus/TARGET and taken up by the next run; what
# breaks a target is written to build-fuzz/findings/TARGET-*. Prints a line a target: runs, code
# reached (edges of the compiled program), inputs kept, seconds, findings.
set -euo pipefail

root=$(cd "$(dirname "${BASH_SOURCE[0]}")/../../.." && pwd)
build=$root/build-fuzz
seconds=${1:?usage: run.sh SECONDS [TARGET...]}
shift

if [ ! -f "$build/build.ninja" ]; then
  CC=clang CXX=clang++ cmake -S "$root" -B "$build" -G Ninja -DHOLDSHELF_FUZZ=ON \
    -DCMAKE_BUILD_TYPE=None -DCMAKE_CXX_FLAGS="-O1 -g1" >/dev/null
fi
targets=("$@")
if [ ${#targets[@]} -eq 0 ]; then
  for file in "$root"/tests/reliability/fuzz/*_target.cpp; do
    targets+=("$(basename "$file" _target.cpp)")
  done
fi
programs=("${targets[@]/#/fuzz_}")
cmake --build "$build" --target fuzz_seeds "${programs[@]}" >&2

export ASAN_OPTIONS=detect_leaks=1:allocator_may_return_null=0
export LSAN_OPTIONS=suppressions=$root/tests/reliability/sanitizers/lsan_suppressions.txt:print_suppressions=0
export UBSAN_OPTIONS=print_stacktrace=1
mkdir -p "$build/corpus" "$build/findings" "$build/fuzz-logs"
"$build/fuzz_seeds" "$build/seeds" >/dev/null

echo "| target | runs | edges reached | edges in all | inputs kept | s by the clock | findings |"
echo "|---|---|---|---|---|---|---|"
status=0
for target in "${targets[@]}"; do
  mkdir -p "$build/corpus/$target" "$root/tests/reliability/fuzz/regressions/$target"
  log=$build/fuzz-logs/$target.log
  dictionary=()
  [ -f "$root/tests/reliability/fuzz/$target.dict" ] && dictionary=(-dict="$root/tests/reliability/fuzz/$target.dict")
  started=$(date +%s)
  "$build/fuzz_$target" "$build/corpus/$target" "$build/seeds/$target" \
    "$root/tests/reliability/fuzz/regressions/$target" "${dictionary[@]}" -max_total_time="$seconds" \
    -timeout=25 -rss_limit_mb=3000 -malloc_limit_mb=2500 -max_len=8192 -print_final_stats=1 \
    -artifact_prefix="$build/findings/$target-" >"$log" 2>&1 || status=1
  took=$(($(date +%s) - started))
  runs=$(sed -n 's/^stat::number_of_executed_units: *//p' "$log")
  edges=$(sed -n 's/.* cov: \([0-9]*\) .*/\1/p' "$log" | tail -1)
  all=$(sed -n 's/.*INFO: Loaded .*(\([0-9]*\) inline 8-bit counters).*/\1/p' "$log" | tail -1)
  found=$(find "$build/findings" -name "$target-*" | wc -l)
  kept=$(find "$build/corpus/$target" -type f | wc -l)
  echo "| $target | ${runs:-?} | ${edges:-?} | ${all:-?} | $kept | $took | $found |"
done
exit $status
