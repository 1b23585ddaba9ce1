// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_place.h"

#include <doctest/doctest.h>

#include "tests/catalog/environment.h"

using namespace holdshelf;
using holdshelf::test::Environment;

TEST_CASE("library place: a sentence without it") {
  CHECK(withoutPlace("No hold in /srv/gym: look.", "/srv/gym") == "No hold in gym: look.");
  CHECK(withoutPlace("/srv/gym/blobs/ab is lost, /srv/gym has none.", "/srv/gym/") ==
        "gym/blobs/ab is lost, gym has none.");
  CHECK(withoutPlace("No hold in gym.", "/gym") == "No hold in gym.");
  CHECK(withoutPlace("There is none.", "/") == "There is none.");
  // What was named from where one stands says nothing of the machine.
  CHECK(withoutPlace("No hold in .: look.", ".") == "No hold in .: look.");
  CHECK(withoutPlace("No hold in a/gym.", "a/gym") == "No hold in a/gym.");
}

TEST_CASE("library place: a sentence without address, and without what this machine keeps of it") {
  const Environment state("XDG_STATE_HOME", "/home/mo/state");
  const std::filesystem::path place = "postgres://mo@db.example/gym?sslmode=require";
  CHECK(withoutPlace("No hold in " + place.string() + ": look.", place) == "No hold in gym: look.");
  CHECK(withoutPlace("No mat in " + (localFolderOf(place) / "a.jpg").string() + ".", place) ==
        "No mat in gym/a.jpg.");
}
