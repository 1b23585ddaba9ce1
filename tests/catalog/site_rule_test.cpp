// SPDX-License-Identifier: Apache-2.0
#include "catalog/site_rule.h"

#include <doctest/doctest.h>

#include <string>

#include "mesh/bad_input.h"

using namespace holdshelf;

namespace {

Hold holdOf(const std::string& site, const std::string& lent_to = "") {
  Hold hold;
  hold.set_id("H-0001");
  hold.set_site(site);
  hold.set_lent_to(lent_to);
  return hold;
}

std::string refusal(const Hold& hold, const Event& event, const std::string& site) {
  try {
    checkSite(hold, event, site);
  } catch (const BadInput& refused) {
    return refused.what();
  }
  return "";
}

Event moved() {
  Event event;
  event.mutable_moved()->set_status(WALL);
  return event;
}

Event edited() {
  Event event;
  event.mutable_edited()->set_name("ledge");
  return event;
}

Event given() {
  Event event;
  event.mutable_sited()->set_given_to("south");
  return event;
}

}  // namespace

TEST_CASE("site rule: at home its own site says everything, another nothing but notes") {
  const Hold home = holdOf("north");
  for (const Event& event : {moved(), edited(), given()}) {
    CHECK(refusal(home, event, "north").empty());
    CHECK(
        refusal(home, event, "south") ==
        "H-0001 is at the site north, and this is south: ask there for it to be lent or given, or "
        "leave a note on it.");
    CHECK(refusal(home, event, "").empty());             // One site only.
    CHECK(refusal(holdOf(""), event, "south").empty());  // From before there were sites.
  }
  Event note;
  note.set_noted("spins");
  CHECK(refusal(home, note, "south").empty());
  Event merged = moved();
  merged.set_origin("elsewhere");
  CHECK(refusal(home, merged, "south").empty());
}

TEST_CASE("site rule: a lent hold is where it stands, but its own site's to give and to edit") {
  const Hold lent = holdOf("north", "south");
  CHECK(refusal(lent, moved(), "south").empty());
  CHECK(refusal(lent, edited(), "south").empty());
  CHECK(refusal(lent, given(), "south").find("belongs to the site north") != std::string::npos);
  CHECK(refusal(lent, edited(), "north").empty());
  CHECK(refusal(lent, given(), "north").empty());
  CHECK(refusal(lent, moved(), "north") ==
        "H-0001 is at the site south, and this is north: call it back with holdshelf lend --back "
        "first.");
  CHECK_FALSE(refusal(lent, edited(), "west").empty());
}
