#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
# supply_test.sh PROGRAM SOURCE: how the program is linked, that it needs no path of the machine it
# was built on, and that every part of it is known with version and licence.
set -uo pipefail
program=$1
source=$2
failures=0

expect() {  # expect WHAT COMMAND...
  local what=$1
  shift
  if "$@" >/dev/null 2>&1; then return; fi
  echo "FAILED: $what"
  failures=$((failures + 1))
}
reads() {  # reads PATTERN READELF-FLAGS...
  local pattern=$1
  shift
  readelf -W "$@" "$program" | grep -E "$pattern" >/dev/null  # Not -q, which would break the pipe.
}

expect "position-independent" reads 'Type: +DYN' -h
expect "bound before it starts" reads 'NOW' -d
expect "tables read-only once bound" reads 'GNU_RELRO' -l
expect "no stack that can be executed" reads 'GNU_STACK.* RW ' -l
calls() { reads "UND .*$1" --dyn-syms; }
# In functions that take bytes from outside, of each room: the libraries' own code has such guards in any
# case.
guards_its_stack() {
  local symbol
  symbol=$(nm "$program" | grep -oE "$1[A-Za-z0-9_]*$" | head -1)
  [ -n "$symbol" ] && objdump -d --disassemble="$symbol" "$program" | grep '__stack_chk_fail@plt' >/dev/null
}
# Nothing of this in a sanitizer's build, which replaces it.
if ! reads '__(asan|tsan)_init' -s; then
  for symbol in 8readMeshE 9readPhotoE 10IntakeDesk7receiveE 8readBoltE; do
    expect "guarded stacks in $symbol" guards_its_stack "_ZN9holdshelf$symbol"
  done
  expect "checked string functions" calls '__(memcpy|memmove|snprintf|read|fread)_chk@'
  expect "checked containers" calls '_ZSt21__glibcxx_assert_failPKciS0_S0_@'
fi
expect "no library path of its own" bash -c "! readelf -dW '$program' | grep -qE 'RPATH|RUNPATH'"

bill=$(mktemp)
trap 'rm -f "$bill"' EXIT
expect "a bill of materials" bash -c "node '$source/.ci/bill-of-materials.mjs' '$program' >'$bill'"
expect "every part with version and licence" node -e '
  const bill = JSON.parse(require("fs").readFileSync(process.argv[1], "utf8"));
  const names = bill.components.map((part) => part.name);
  for (const wanted of ["libsqlite3-0", "libprotobuf32", "libeigen3-dev", "three"])
    if (!names.includes(wanted)) throw new Error(wanted);
  for (const part of bill.components)
    if (!part.version || part.licenses.length === 0) throw new Error(part.name);
  if (bill.components.length < 50) throw new Error("too few");
' "$bill"
[ $failures -eq 0 ]
