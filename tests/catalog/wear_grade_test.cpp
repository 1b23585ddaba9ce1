// SPDX-License-Identifier: Apache-2.0
#include "catalog/wear_grade.h"

#include <doctest/doctest.h>

#include <string>

using namespace holdshelf;

namespace {

Wear withLip(double growth_mm, bool sure = true) {
  Wear wear;
  wear.set_detection_limit_mm(0.127);
  LipChange& lip = *wear.add_lips();
  lip.set_rotation_deg(25);
  lip.mutable_radius_growth_mm()->set_value(growth_mm);
  lip.mutable_radius_growth_mm()->set_sigma(0.1);
  lip.set_sure(sure);
  return wear;
}

LostChunk& lose(Wear& wear, double volume_mm3, double deepest_mm) {
  LostChunk& chunk = *wear.add_chunks();
  chunk.mutable_volume_mm3()->set_value(volume_mm3);
  chunk.set_deepest_mm(deepest_mm);
  wear.mutable_lost_mm3()->set_value(wear.lost_mm3().value() + volume_mm3);
  wear.mutable_lost_mm3()->set_sigma(2);
  return chunk;
}

std::string gradeOf(Wear wear) {
  gradeWear({}, wear);
  return wear.grade();
}

std::string reasonOf(Wear wear) {
  gradeWear({}, wear);
  return wear.reason();
}

}  // namespace

TEST_CASE("gradeWear: a word begins at its growth, of sure lips only") {
  CHECK(gradeOf(withLip(0.29)) == "none seen");
  CHECK(gradeOf(withLip(0.3)) == "rounded");
  CHECK(gradeOf(withLip(0.99)) == "rounded");
  CHECK(gradeOf(withLip(1)) == "worn");
  CHECK(gradeOf(withLip(2.5)) == "worn out");
  CHECK(gradeOf(withLip(2.5, false)) == "none seen");
  Wear two = withLip(0.4);
  two.mutable_lips()->Add()->CopyFrom(withLip(1.2).lips(0));
  two.mutable_lips()->Add()->CopyFrom(withLip(3, false).lips(0));
  CHECK(surestGrowth_mm(two) == 1.2);
  CHECK(gradeOf(two) == "worn");
  CHECK(surestGrowth_mm(withLip(3, false)) == 0);
}

TEST_CASE("gradeWear: one lost piece that is large and deep is a chip") {
  Wear wear;
  lose(wear, 8, 0.39);
  lose(wear, 7.9, 0.4);
  CHECK(gradeOf(wear) == "none seen");  // Neither is both.
  lose(wear, 8, 0.4);
  CHECK(gradeOf(wear) == "chipped");
  Wear rounded = withLip(0.5);
  lose(rounded, 20, 1);
  CHECK(gradeOf(rounded) == "rounded, chipped");
}

TEST_CASE("gradeWear: the reason says the numbers, or the limit below which nothing was seen") {
  CHECK(reasonOf(withLip(2, false)) == "no change beyond the detection limit of 0.13 mm");
  CHECK(reasonOf(withLip(2)) == "lip radius 2.00 ± 0.10 mm larger, turned 25°");
  Wear wear = withLip(2);
  lose(wear, 20, 1.24);
  CHECK(reasonOf(wear) ==
        "lip radius 2.00 ± 0.10 mm larger, turned 25°; 20 ± 2 mm³ gone in 1 place, 1.2 mm at the "
        "deepest");
  lose(wear, 10, 1);
  CHECK(reasonOf(wear).find("30 ± 2 mm³ gone in 2 places, 1.2 mm") != std::string::npos);
}

TEST_CASE("gradeWear: what was seen but has no word is too little to be called wear") {
  CHECK(reasonOf(withLip(0.2)) ==
        "lip radius 0.20 ± 0.10 mm larger, turned 25°, too little to be called wear");
  Wear wear;
  lose(wear, 5, 0.3);
  CHECK(reasonOf(wear) ==
        "5 ± 2 mm³ gone in 1 place, 0.3 mm at the deepest, too little to be called wear");
  lose(wear, 20, 1);  // Now it is chipped.
  CHECK(reasonOf(wear).find("too little") == std::string::npos);
}

TEST_CASE("gradeWear: a lost piece whose texture is gone, too, sends a person to feel") {
  Wear wear;
  lose(wear, 20, 1);
  CHECK(reasonOf(wear).find("texture") == std::string::npos);
  lose(wear, 10, 1).set_rubbed(true);
  CHECK(reasonOf(wear) ==
        "30 ± 2 mm³ gone in 2 places, 1.0 mm at the deepest; the texture is gone there too, and "
        "photos tell little of a smooth spot's shape: feel and look whether anything is missing");
}
