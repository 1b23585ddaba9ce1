// SPDX-License-Identifier: Apache-2.0
#include "catalog/hand_model.h"

#include <doctest/doctest.h>

#include <cmath>
#include <fstream>
#include <map>
#include <sstream>
#include <string>
#include <vector>

#include "mesh/bad_input.h"

using namespace holdshelf;

/// testdata/ansur2_hand_percentiles.csv by "sex,dimension": ANSUR II, Gordon et al. 2014,
/// NATICK/TR-15/007, recomputed from the public per-person files.
static std::map<std::string, std::vector<double>> ansur() {
  std::ifstream file(std::string(HOLDSHELF_SOURCE_DIR) + "/testdata/ansur2_hand_percentiles.csv");
  REQUIRE(file);
  std::map<std::string, std::vector<double>> rows;
  std::string line, cell;
  std::getline(file, line);
  while (std::getline(file, line)) {
    std::istringstream cells(line);
    std::string sex, dimension;
    std::getline(cells, sex, ',');
    std::getline(cells, dimension, ',');
    while (std::getline(cells, cell, ',')) rows[sex + "," + dimension].push_back(std::stod(cell));
  }
  return rows;
}

// Columns after sex and dimension: n, mean, sd, p1, p5, p25, p50, p75, p95, p99.
constexpr std::size_t kMean = 1, kSd = 2, kP5 = 4, kP25 = 5, kP50 = 6, kP75 = 7, kP95 = 8;

TEST_CASE("handModel: the tabled percentiles of ANSUR II come back") {
  const auto table = ansur();
  for (auto [sex, people] : {std::pair{"F", People::Women}, std::pair{"M", People::Men}})
    for (auto [percentile, column] :
         {std::pair{5.0, kP5}, std::pair{50.0, kP50}, std::pair{95.0, kP95}}) {
      CAPTURE(sex);
      CAPTURE(percentile);
      const HandModel hand = handModel(people, percentile);
      const auto expected = [&, column = column, sex = std::string(sex)](const char* dimension) {
        return table.at(sex + "," + dimension).at(column);
      };
      CHECK(std::abs(hand.hand_breadth_mm - expected("handbreadth")) < 1e-6);
      CHECK(std::abs(hand.hand_length_mm - expected("handlength")) < 1e-6);
      CHECK(std::abs(hand.palm_length_mm - expected("palmlength")) < 1e-6);
      CHECK(std::abs(hand.wrist_thickness_mm * std::acos(-1.0) - expected("wristcircumference")) <
            1e-6);
    }
}

TEST_CASE("handModel: between the tabled percentiles the quartiles are met within a millimetre") {
  const auto table = ansur();
  CHECK(std::abs(handModel(People::Women, 25).hand_breadth_mm -
                 table.at("F,handbreadth").at(kP25)) < 1.0);
  CHECK(std::abs(handModel(People::Men, 75).hand_breadth_mm - table.at("M,handbreadth").at(kP75)) <
        1.0);
}

TEST_CASE(
    "handModel: the default lies midway, grows with the percentile, and has 20 to 25 mm of "
    "distal phalanx") {
  const HandModel hand = handModel();
  CHECK(hand.whose == "midway between women and men, percentile 50");
  CHECK(hand.hand_breadth_mm == doctest::Approx((78 + 88) / 2.0));
  // 20 to 25 mm support the distal phalanx: inference from Amca et al. 2012.
  CHECK(hand.distal_phalanx_mm >= 20);
  CHECK(hand.distal_phalanx_mm <= 25);
  CHECK(handModel(People::Midway, 10).fourFingers_mm() <
        handModel(People::Midway, 90).fourFingers_mm());
  CHECK(handModel(People::Women).fourFingers_mm() < handModel(People::Men).fourFingers_mm());
  CHECK_THROWS_AS(handModel(People::Men, 0), BadInput);
  CHECK_THROWS_AS(handModel(People::Men, 99.5), BadInput);
}

TEST_CASE("shareOfHandsFitting: an edge of 85 mm, by the normal law") {
  const auto table = ansur();
  const auto law = [&](const char* row) {
    const auto& values = table.at(row);
    return 0.5 * std::erfc(-(85 - values.at(kMean)) / (values.at(kSd) * std::sqrt(2.0)));
  };
  CHECK(shareOfHandsFitting(People::Women, 85) == doctest::Approx(law("F,handbreadth")));
  CHECK(shareOfHandsFitting(People::Men, 85) == doctest::Approx(law("M,handbreadth")));
  // The law gives 96.3 % and 22.9 %; counting the per-person files gives 0.966264 of 1 986 women
  // and 0.267271 of 4 082 men with a breadth of at most 85 mm.
  CHECK(std::abs(shareOfHandsFitting(People::Women, 85) - 0.963) < 0.001);
  CHECK(std::abs(shareOfHandsFitting(People::Men, 85) - 0.229) < 0.001);
  CHECK(std::abs(shareOfHandsFitting(People::Women, 85) - 0.966264) < 0.04);
  CHECK(std::abs(shareOfHandsFitting(People::Men, 85) - 0.267271) < 0.04);
}
