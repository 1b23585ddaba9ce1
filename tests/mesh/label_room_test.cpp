// SPDX-License-Identifier: Apache-2.0
#include "mesh/label_room.h"

#include <doctest/doctest.h>

#include <string>
#include <vector>

using namespace holdshelf;

namespace {

/// The room in the patch of ones.
LabelRoom roomIn(const std::vector<std::string>& rows) {
  SlopeBands map{static_cast<int>(rows[0].size()), static_cast<int>(rows.size()), {}, {}, {}};
  for (const std::string& row : rows)
    for (const char c : row) map.band.push_back(static_cast<std::int16_t>(c == '1' ? 1 : -1));
  return labelRoomIn(map, patchesOf(map).front());
}

}  // namespace

TEST_CASE("labelRoomIn: the middle of a square, whose half side is the room") {
  const LabelRoom room = roomIn({".......", ".11111.", ".11111.", ".11111.", ".11111.", ".11111."});
  CHECK(room.at == Eigen::Vector2d(3, 3));
  CHECK(room.half == 3);
}

TEST_CASE("labelRoomIn: the middle of a strip, and a place within a bent one") {
  CHECK(roomIn({"11111111111", "11111111111", "11111111111"}).at == Eigen::Vector2d(5, 1));
  const LabelRoom bent = roomIn({"111111", "111111", "111111", "111...", "111...", "111..."});
  CHECK(bent.half == 2);
  // The mean of the ridge (1, 1) to (4, 1) and (1, 4) is beside it; the place is on it.
  CHECK((bent.at.x() == 1 || bent.at.y() == 1));
}
