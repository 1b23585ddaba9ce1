// SPDX-License-Identifier: Apache-2.0
#include "catalog/usual_mounting.h"

#include <doctest/doctest.h>

using namespace holdshelf;

namespace {

Event moved(Status status, double rotation_deg, double wall_angle_deg) {
  Event event;
  event.mutable_moved()->set_status(status);
  event.mutable_moved()->set_rotation_deg(rotation_deg);
  event.mutable_moved()->set_wall_angle_deg(wall_angle_deg);
  return event;
}

}  // namespace

TEST_CASE("usualMounting: the most frequent one on the wall, of two as frequent ones the later") {
  Event unknown;  // On the wall, nobody said how.
  unknown.mutable_moved()->set_status(WALL);
  Event noted;
  noted.set_noted("spins");
  std::vector<Event> events = {noted, unknown, moved(SHELF, 10, 5)};
  CHECK_FALSE(usualMounting(events));
  const auto isUsual = [&](double rotation_deg, double wall_angle_deg) {
    const auto usual = usualMounting(events);
    REQUIRE(usual);
    CHECK(usual->rotation_deg == rotation_deg);
    CHECK(usual->wall_angle_deg == wall_angle_deg);
    CHECK(usual->pull_deg == 0);
  };
  events.push_back(moved(WALL, 30.2, 40));
  isUsual(30, 40);
  events.push_back(moved(WALL, 90, 40));
  isUsual(90, 40);
  events.push_back(moved(WALL, 29.9, 40));  // The same to the degree.
  isUsual(30, 40);
  events.push_back(moved(WALL, 90, 15));  // Another wall is another mounting.
  events.push_back(moved(WALL, 90, 15));
  isUsual(90, 15);
}
