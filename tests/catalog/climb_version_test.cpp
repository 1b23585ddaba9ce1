// SPDX-License-Identifier: Apache-2.0
// What the page's shared crates rest on: a climb's version, and who a change is of.
#include <doctest/doctest.h>

#include "tests/catalog/evening.h"

using namespace holdshelf;

TEST_CASE("a climb's version: its last event's number, unmoved by what happens elsewhere") {
  test::Evening evening;
  evening.shelve("H-0001", "quay_crimp");
  const Climb before = climbOf(evening.library, "C-0001");
  CHECK(before.version() > 0);
  CHECK(climbHistory(evening.library, "C-0001").events().rbegin()->number() == before.version());
  Climb other = before;
  other.set_name("green 2");
  startClimb(evening.library, other);
  CHECK(climbOf(evening.library, "C-0001").version() == before.version());
  const Climb after = addHolds(evening.library, "C-0001", {"H-0001"});
  CHECK(after.version() > before.version());
  CHECK(after.version() == evening.library.lastEvent());
}

TEST_CASE(
    "Library::actAs: changes are of whom they are made for, also without a name of their own") {
  test::Evening evening;
  evening.shelve("H-0001", "quay_crimp");
  evening.library.actAs("Maren's phone");
  addHolds(evening.library, "C-0001", {"H-0001"});
  CHECK(climbHistory(evening.library, "C-0001").events().rbegin()->who() == "Maren's phone");
  CHECK(evening.library.history("H-0001").back().who() == "Maren's phone");
}
