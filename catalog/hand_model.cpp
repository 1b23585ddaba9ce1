// SPDX-License-Identifier: Apache-2.0
#include "catalog/hand_model.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <vector>

#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

/// Sizes at percentiles 5, 50, 95, mm.
struct Row {
  double p5, p50, p95;
};

/// The same dimension of women and men.
struct Dimension {
  Row women, men;
};

constexpr double kPi = 3.14159265358979323846;

// ANSUR II, 2012; testdata/ansur2_hand_percentiles.csv.
constexpr Dimension kHandBreadth{{72, 78, 85}, {81, 88, 96}};
constexpr Dimension kHandLength{{165, 180, 199}, {177, 193, 210}};
constexpr Dimension kPalmLength{{100, 108, 119}, {107, 116, 127}};
constexpr Dimension kWristCircumference{{142.25, 154, 168}, {162, 176, 191}};
// Pheasant & Haslegrave, Bodyspace, 2006; values from memory.
constexpr Dimension kThumbBreadth{{17, 19, 21}, {20, 23, 26}};
constexpr Dimension kMiddleFinger{{69, 77, 84}, {76, 83, 90}};
constexpr Dimension kHandThickness{{24, 28, 33}, {27, 33, 38}};
constexpr Dimension kGripDiameter{{43, 48, 53}, {45, 52, 59}};
constexpr Dimension kPinchSpan{{109, 127, 145}, {122, 142, 162}};
// DIN 33402-2, index finger near the tip; values from memory.
constexpr Dimension kIndexTip{{13, 15, 17}, {17, 18, 20}};

/// Standard normal deviate of a probability in (0, 1), by bisection on erfc.
double normalDeviate(double probability) {
  double low = -6, high = 6;
  for (int i = 0; i < 60; ++i) {
    const double middle = (low + high) / 2;
    (0.5 * std::erfc(-middle / std::sqrt(2.0)) < probability ? low : high) = middle;
  }
  return (low + high) / 2;
}

double atDeviate(const Row& row, double deviate) {
  const double deviate95 = normalDeviate(0.95);
  const double slope = deviate < 0 ? row.p50 - row.p5 : row.p95 - row.p50;
  return row.p50 + slope * deviate / deviate95;
}

double size(const Dimension& dimension, People people, double deviate) {
  const double women = atDeviate(dimension.women, deviate), men = atDeviate(dimension.men, deviate);
  if (people == People::Women) return women;
  if (people == People::Men) return men;
  return (women + men) / 2;
}

std::string describe(People people, double percentile) {
  static constexpr const char* kWhose[] = {"women", "men", "midway between women and men"};
  char text[80];
  std::snprintf(text, sizeof text, "%s, percentile %g", kWhose[static_cast<int>(people)],
                percentile);
  return text;
}

}  // namespace

HandModel handModel(People people, double percentile) {
  if (!(percentile >= 1 && percentile <= 99))
    throw BadInput("The hand's percentile must lie between 1 and 99; the default is 50.");
  const double z = normalDeviate(percentile / 100);
  const auto of = [&](const Dimension& dimension) { return size(dimension, people, z); };
  HandModel hand;
  hand.whose = describe(people, percentile);
  hand.hand_breadth_mm = of(kHandBreadth);
  hand.hand_length_mm = of(kHandLength);
  hand.palm_length_mm = of(kPalmLength);
  hand.wrist_thickness_mm = of(kWristCircumference) / kPi;
  hand.hand_thickness_mm = of(kHandThickness);
  hand.middle_finger_mm = of(kMiddleFinger);
  hand.distal_phalanx_mm = 0.30 * hand.middle_finger_mm;
  hand.thumb_breadth_mm = of(kThumbBreadth);
  hand.grip_diameter_mm = of(kGripDiameter);
  hand.pinch_span_mm = of(kPinchSpan);
  const double index = of(kIndexTip);
  hand.finger_breadth_mm = {index, index, 0.95 * index, 0.85 * index};
  return hand;
}

double shareOfHandsFitting(People people, double width_mm) {
  // Mean and standard deviation, ANSUR II as above.
  const auto share = [&](double mean, double sd) {
    return 0.5 * std::erfc(-(width_mm - mean) / (sd * std::sqrt(2.0)));
  };
  const double women = share(78.154, 3.843), men = share(88.261, 4.388);
  if (people == People::Women) return women;
  if (people == People::Men) return men;
  return (women + men) / 2;
}

}  // namespace holdshelf
