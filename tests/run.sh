#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
# Builds Holdshelf and runs its tests, on a machine that needs nothing but git before.
#   --sanitize         with AddressSanitizer and UndefinedBehaviorSanitizer, in build-asan
#   --thread-sanitize  with ThreadSanitizer, in build-tsan: those that work on several threads
#   --no-network       the tests see no network but this machine's own loopback (needs root)
#   --werror           warnings are errors
# Further words go to ctest, e.g. -R mesh.
set -euo pipefail

root=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
build=$root/build
flags=(-DHOLDSHELF_WERROR=OFF -DHOLDSHELF_SANITIZE=OFF)
words=()
cut=()
for word in "$@"; do
  case $word in
    --sanitize) build=$root/build-asan; flags+=(-DHOLDSHELF_SANITIZE=ON) ;;
    --thread-sanitize) build=$root/build-tsan; flags+=(-DHOLDSHELF_THREAD_SANITIZE=ON); words+=(-L threads) ;;
    --no-network) cut=(unshare --net bash -c 'ip link set lo up && exec "$@"' cut) ;;
    --werror) flags+=(-DHOLDSHELF_WERROR=ON) ;;
    *) words+=("$word") ;;
  esac
done

"$root/.ci/install-packages"
cmake -S "$root" -B "$build" -G Ninja "${flags[@]}"
cmake --build "$build"
sanitizers=$root/tests/reliability/sanitizers
# What a sanitizer has to report goes to files here, also where nobody reads what a program prints or how
# it ends: children that are killed, servers that a test starts. UndefinedBehaviorSanitizer's own words still
# come on the standard error where AddressSanitizer is there, too: it aborts, and that one writes down where.
reports=$build/sanitizer-reports
rm -rf "$reports"
mkdir "$reports"
export ASAN_OPTIONS=handle_abort=1:log_path=$reports/address
export LSAN_OPTIONS=suppressions=$sanitizers/lsan_suppressions.txt:print_suppressions=0
export UBSAN_OPTIONS=print_stacktrace=1:abort_on_error=1:log_path=$reports/undefined
# Its reports are errors of the program that made them, so that a test that starts it fails, too. What
# libraries that were built without it do to memory by themselves is not looked at; their locks are.
export TSAN_OPTIONS=suppressions=$sanitizers/tsan_suppressions.txt:second_deadlock_stack=1:ignore_noninstrumented_modules=1:log_path=$reports/threads
status=0
"${cut[@]}" ctest --test-dir "$build" --parallel "$(nproc)" --output-on-failure "${words[@]}" || status=$?
if [ -n "$(ls -A "$reports")" ]; then
  tail -n +1 "$reports"/* >&2
  echo "A sanitizer has something to report (above, and in $reports)." >&2
  exit 1
fi
exit "$status"
