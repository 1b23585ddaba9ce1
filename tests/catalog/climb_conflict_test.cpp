// SPDX-License-Identifier: Apache-2.0
#include "catalog/climb_conflict.h"

#include <doctest/doctest.h>

#include <string>
#include <vector>

using namespace holdshelf;

namespace {

/// One change of each kind that is about this hold; the last of "in" and out.
std::vector<ClimbChange> changesOf(const std::string& hold) {
  std::vector<ClimbChange> changes(7);
  changes[0].mutable_added()->set_hold(hold);
  changes[1].set_dropped(hold);
  changes[2].mutable_swapped()->set_out(hold);
  changes[2].mutable_swapped()->mutable_in()->set_hold("in for " + hold);
  changes[3].mutable_placed()->set_hold(hold);
  changes[4].mutable_bolted()->set_hold(hold);
  changes[5].mutable_used_as()->set_hold(hold);
  changes[6].mutable_dismissed()->set_hold(hold);
  return changes;
}

}  // namespace

TEST_CASE("climb conflict: changes disturb each other on the same hold, and only there") {
  for (const ClimbChange& ours : changesOf("H-0001")) {
    for (const ClimbChange& theirs : changesOf("H-0001")) CHECK(disturbs(theirs, ours));
    for (const ClimbChange& theirs : changesOf("H-0002")) CHECK_FALSE(disturbs(theirs, ours));
  }
}

TEST_CASE("climb conflict: a swap is about both of its holds") {
  ClimbChange swap, placed;
  swap.mutable_swapped()->set_out("H-0001");
  swap.mutable_swapped()->mutable_in()->set_hold("H-0002");
  placed.mutable_placed()->set_hold("H-0002");
  CHECK(disturbs(swap, placed));
  CHECK(disturbs(placed, swap));
}

TEST_CASE("climb conflict: notes disturb nothing, opening and stripping all else") {
  ClimbChange note, opened, stripped, placed;
  note.mutable_noted()->set_hold("H-0001");
  opened.set_opened(true);
  stripped.set_stripped(true);
  placed.mutable_placed()->set_hold("H-0001");
  for (const ClimbChange& other : {note, opened, stripped, placed}) {
    CHECK_FALSE(disturbs(note, other));
    CHECK_FALSE(disturbs(other, note));
  }
  for (const ClimbChange& whole : {opened, stripped}) {
    CHECK(disturbs(whole, placed));
    CHECK(disturbs(placed, whole));
    CHECK(disturbs(whole, opened));
  }
}
