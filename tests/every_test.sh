#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
# every_test.sh BUILD SOURCE: every test file on disk is built and run.
set -euo pipefail
build=$(realpath "$1") source=$(realpath "$2")
failed=0
complain() { echo "every_test: $*" >&2; failed=1; }

listed=$(ctest --test-dir "$build" --show-only=json-v1)
while read -r file; do
  grep -qF "\"$source/$file\"" "$build/compile_commands.json" || complain "$file is compiled into nothing"
done < <(cd "$source" && find tests -name '*_test.cpp')
for program in "$build"/*_tests; do
  [[ $listed == *"\"$program\""* ]] || complain "ctest does not run $program"
done
while read -r file; do
  [[ $listed == *"\"$source/$file\""* ]] || grep -qF "./$(basename "$file")" "$source/tests/web/page_test.mjs" ||
    complain "$file is run by nothing"
done < <(cd "$source" && find tests -name '*_test.mjs' -o -name '*_test.sh' | grep -v every_test)
exit $failed
