// SPDX-License-Identifier: Apache-2.0
#include "tests/shapes/labelled_mountings.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <stdexcept>

namespace holdshelf {
namespace {

/// An edge of the given numbers. What is labelled "nothing" is 160 mm wide, so that no hand spans
/// it to pinch its ends.
ExactHold edgeOf(double depth_mm, double radius_mm, double incut_deg, double width_mm,
                 double protrusion_mm) {
  EdgeSpec spec;
  spec.depth_mm = depth_mm;
  spec.lip_radius_mm = radius_mm;
  spec.incut_deg = incut_deg;
  spec.width_mm = width_mm;
  spec.protrusion_mm = protrusion_mm;
  spec.root_radius_mm = depth_mm > 20 ? 6 : 2;
  spec.floor_mm = depth_mm > 20 ? 40 : 20;
  spec.front_mm = 44 + 1.5 * radius_mm;
  return edgeHold(spec);
}

/// A foot chip: nothing on it is deeper than its protrusion.
ExactHold chipOf(double depth_mm, double radius_mm, double width_mm, double protrusion_mm) {
  EdgeSpec spec;
  spec.depth_mm = depth_mm;
  spec.lip_radius_mm = radius_mm;
  spec.incut_deg = 0;
  spec.width_mm = width_mm;
  spec.protrusion_mm = protrusion_mm;
  spec.root_radius_mm = 1;
  spec.lip_y_mm = 6;
  spec.floor_mm = 5;
  spec.front_mm = 14;
  spec.end_blend_mm = 3;
  return edgeHold(spec);
}

/// A bar to pinch whose two ends slope by 50 degrees, so that they can't be pulled on.
ExactHold rampedPinch(double top_mm, double taper_deg, double protrusion_mm) {
  ExactHold hold = pinchHold(top_mm, taper_deg, protrusion_mm, 260, 6);
  const double slope = 50 * std::acos(-1.0) / 180, offset = 100 * std::cos(slope);
  for (double side : {-1.0, 1.0})
    hold.solid = intersect(
        hold.solid, halfSpace(Eigen::Vector3d(0, side * std::cos(slope), std::sin(slope)), offset),
        4);
  return hold;
}

/// A round bar along x whose axis stands off the wall, on two posts beyond the ends of a hand.
ExactHold handrail(double diameter_mm, double axis_z_mm, double length_mm) {
  const double half = length_mm / 2, r = diameter_mm / 2;
  Sdf solid = capsule({-half, 0, axis_z_mm}, {half, 0, axis_z_mm}, r);
  for (double side : {-half, half})
    solid = unite(solid, capsule({side, 0, -r}, {side, 0, axis_z_mm}, r));
  ExactHold hold("handrail", intersect(solid, halfSpace({0, 0, -1}, 0)),
                 Eigen::AlignedBox3d(Eigen::Vector3d(-half - r - 1, -r - 1, 0),
                                     Eigen::Vector3d(half + r + 1, r + 1, axis_z_mm + r + 1)));
  hold.protrusion_mm = axis_z_mm + r;
  return hold;
}

const std::map<std::string, std::function<ExactHold()>>& makers() {
  static const std::map<std::string, std::function<ExactHold()>> all = {
      {"bucket", [] { return edgeOf(45, 9, 25, 110, 62); }},
      {"fat bucket", [] { return edgeOf(70, 26, 22, 130, 84); }},
      {"ledge 30", [] { return edgeOf(30, 3, 0, 160, 40); }},
      {"ledge 22", [] { return edgeOf(22, 2, 0, 160, 30); }},
      {"lab hold", [] { return edgeOf(23, 3, 25, 122, 34); }},
      {"crimp 12", [] { return edgeOf(12, 1.5, 0, 160, 20); }},
      {"crimp 8", [] { return edgeOf(8, 1.5, 0, 80, 15); }},
      {"incut crimp", [] { return edgeOf(15, 2, 25, 80, 24); }},
      {"slope 25", [] { return edgeOf(50, 10, -25, 160, 58); }},
      {"slope 50", [] { return edgeOf(50, 6, -50, 160, 58); }},
      {"ball", [] { return domeHold(80, 75); }},
      {"cap", [] { return domeHold(80, 40); }},
      {"pinch", [] { return rampedPinch(55, 6, 50); }},
      {"wide pinch", [] { return rampedPinch(85, 6, 60); }},
      {"pocket 3", [] { return pocketHold(56, 26, 30, 3); }},
      {"pocket 2", [] { return pocketHold(38, 24, 30, 3); }},
      {"pocket 1", [] { return pocketHold(23, 22, 28, 2); }},
      {"chip 6", [] { return chipOf(6, 1.5, 26, 8); }},
      {"chip 5", [] { return chipOf(5, 1, 22, 7); }},
      {"knob", [] { return domeHold(13, 11); }},
      {"rail 6", [] { return edgeOf(6.5, 1, 0, 100, 9); }},
      // Of the judged mountings.
      {"horn", [] { return edgeOf(38, 7, 18, 95, 54); }},
      {"deep bucket", [] { return edgeOf(50, 8, 35, 120, 66); }},
      {"handrail", [] { return handrail(30, 45, 150); }},
      {"shelf", [] { return edgeOf(26, 2, 0, 170, 36); }},
      {"thin rail", [] { return edgeOf(9, 1, 0, 170, 14); }},
      {"hooked crimp", [] { return edgeOf(13, 1.5, 20, 70, 20); }},
      {"slope 30", [] { return edgeOf(55, 12, -30, 170, 64); }},
      {"big ball", [] { return domeHold(110, 95); }},
      {"fat pinch", [] { return rampedPinch(70, 4, 60); }},
      {"block pinch", [] { return rampedPinch(45, 0, 45); }},
      {"two deep", [] { return pocketHold(36, 22, 35, 3); }},
      {"mono", [] { return pocketHold(21, 20, 25, 2); }},
      {"three shallow", [] { return pocketHold(54, 24, 18, 4); }},
      {"chip 4", [] { return chipOf(4, 1, 24, 6); }},
      {"nub", [] { return domeHold(15, 14); }},
      {"jib rail", [] { return edgeOf(5.5, 1, 0, 90, 8); }},
  };
  return all;
}

constexpr const char* kBucket =
    "Common practice: deeper than two finger joints, hooked behind the lip, four fingers.";
constexpr const char* kTurned =
    "Common practice: the same bucket pulled in its own direction, wherever that points.";
constexpr const char* kFlat =
    "Square, and it carries the whole last phalanx (flattening at 20-25 mm, inference from Amca et "
    "al. 2012), no lip to hook.";
constexpr const char* kThin =
    "Less deep than the last phalanx, gets crimped (common practice; depths of 2.8-12.5 mm in "
    "Bourne "
    "et al. 2011).";
constexpr const char* kIncutThin = "Common practice: incut crimps belong on slight overhangs.";
constexpr const char* kSlopes =
    "Slopes against gravity between the limits of 22 and 34 deg (Fuss et al. 2013) or by the 35 "
    "deg "
    "of a validated sloper test (Soderqvist et al. 2024).";
constexpr const char* kSteep = "Steeper than 42 deg, which no skin holds (atan 0.90, Amca 2012).";
constexpr const char* kRound =
    "A rounding with no flat part is held by friction (Fuss et al. 2013 on an 80 mm cylinder).";
constexpr const char* kOpposed =
    "Opposed faces within the thumb's reach, 45 to 90 mm as the validated pinch blocks (Soderqvist "
    "et "
    "al. 2024), ends too steep to pull on.";
constexpr const char* kHole = "Common practice: an opening for so many fingers and no more.";
constexpr const char* kSmallFoot =
    "Common practice: takes a toe; no face of it takes more than the very tips of one or two "
    "fingers.";
constexpr const char* kCrimped =
    "Common practice: a flat crimpable edge used as a foot gets crimped.";
constexpr const char* kGains =
    "On a slab a square ledge gains the wall's angle as incut and hooks.";

std::vector<LabelledMounting> write() {
  // A mound can be palmed or squeezed as well, and with a hole for one finger it may do for a toe.
  const std::vector<std::string> mound{"sloper", "pinch", "foot-only"};
  return {
      {"bucket", 0, 0, 0, "jug", kBucket},
      {"bucket", 0, 10, 0, "jug", kBucket},
      {"bucket", 10, 0, 0, "jug", kBucket},
      {"bucket", 345, 5, 0, "jug", kBucket},
      {"bucket", 90, 0, 90, "jug", kTurned},
      {"bucket", 270, 0, -90, "jug", kTurned},
      {"bucket", 180, 0, 180, "jug", kTurned},
      {"bucket", 45, 10, 45, "jug", kTurned},
      {"bucket", 0, 55, 0, "sloper", kSlopes},
      {"bucket", 0, -15, 0, "jug", kBucket},
      {"fat bucket", 0, 0, 0, "jug", kBucket},
      {"fat bucket", 0, -10, 0, "jug", kBucket},
      {"ledge 30", 0, 0, 0, "edge", kFlat},
      {"ledge 30", 10, 0, 0, "edge", kFlat},
      {"ledge 30", 0, 8, 0, "edge", kFlat},
      {"ledge 30", 90, 0, 90, "edge", kFlat},
      {"ledge 30", 0, 30, 0, "sloper", kSlopes},
      {"ledge 30", 0, 25, 0, "sloper", kSlopes},
      {"ledge 30", 0, 50, 0, "nothing", kSteep},
      {"ledge 30", 0, 60, 0, "nothing", kSteep},
      {"ledge 22", 0, 0, 0, "edge", kFlat},
      {"ledge 22", 350, 5, 0, "edge", kFlat},
      {"ledge 22", 180, 0, 180, "edge", kFlat},
      {"ledge 22", 0, 55, 0, "nothing", kSteep},
      {"lab hold", 0, 20, 0, "edge",
       "23 mm deep, 25 deg incut on a 20 deg board: one phalanx deep, "
       "nearly square to gravity (Bioengineering 2024;11(4):370)."},
      {"lab hold", 0, 25, 0, "edge", "The same, square to gravity at 25 deg of overhang."},
      {"crimp 12", 0, 0, 0, "crimp", kThin},
      {"crimp 12", 10, 0, 0, "crimp", kThin},
      {"crimp 12", 0, 10, 0, "crimp", kThin},
      {"crimp 12", 180, 0, 180, "crimp", kThin},
      {"crimp 12", 0, -15, 0, "crimp", kThin},
      {"crimp 12", 270, 0, -90, "crimp", kThin},
      {"crimp 12", 0, 60, 0, "nothing", kSteep},
      {"crimp 8", 0, 0, 0, "crimp", kCrimped},
      {"crimp 8", 0, -10, 0, "crimp", kCrimped},
      {"crimp 8", 15, 0, 0, "crimp", kCrimped},
      {"crimp 8", 0, 5, 0, "crimp", kCrimped},
      {"incut crimp", 0, 0, 0, "crimp", kIncutThin},
      {"incut crimp", 0, 15, 0, "crimp", kIncutThin},
      {"incut crimp", 0, 30, 0, "crimp", kIncutThin},
      {"incut crimp", 10, 20, 0, "crimp", kIncutThin},
      {"slope 25", 0, 0, 0, "sloper", kSlopes},
      {"slope 25", 10, 0, 0, "sloper", kSlopes},
      {"slope 25", 0, 10, 0, "sloper", kSlopes},
      {"slope 25", 90, 0, 90, "sloper", kSlopes},
      {"slope 25", 0, 20, 0, "nothing", kSteep},
      {"slope 25", 0, 40, 0, "nothing", kSteep},
      {"slope 50", 0, 0, 0, "nothing", kSteep},
      {"slope 50", 0, 10, 0, "nothing", kSteep},
      {"slope 50", 0, -20, 0, "sloper", kSlopes},
      {"slope 50", 350, -20, 0, "sloper", kSlopes},
      {"ball", 0, 0, 0, "sloper", kRound},
      {"ball", 130, 0, 0, "sloper", kRound},
      {"ball", 60, 10, 0, "sloper", kRound},
      {"ball", 0, 0, 90, "sloper", kRound},
      {"ball", 0, 55, 0, "nothing", kSteep},
      {"ball", 250, 60, 0, "nothing", kSteep},
      {"cap", 0, 30, 0, "nothing", kSteep},
      {"cap", 90, 45, 0, "nothing", kSteep},
      {"pinch", 0, 0, 0, "pinch", kOpposed},
      {"pinch", 180, 0, 0, "pinch", kOpposed},
      {"pinch", 0, 10, 0, "pinch", kOpposed},
      {"pinch", 10, 0, 0, "pinch", kOpposed},
      {"pinch", 90, 0, 0, "edge", "Laid across, its long square side is pulled on."},
      {"pinch", 0, 0, 90, "edge", "A side pull finds its long square side."},
      {"wide pinch", 0, 0, 0, "pinch", kOpposed},
      {"wide pinch", 180, 5, 0, "pinch", kOpposed},
      {"pocket 3", 0, 0, 0, "pocket", kHole, mound},
      {"pocket 3", 0, 10, 0, "pocket", kHole, mound},
      {"pocket 2", 0, 0, 0, "pocket", kHole, mound},
      {"pocket 2", 0, 5, 0, "pocket", kHole, mound},
      {"pocket 1", 0, 0, 0, "pocket", kHole, mound},
      {"pocket 1", 0, -10, 0, "pocket", kHole, mound},
      {"chip 6", 0, 0, 0, "foot-only", kSmallFoot},
      {"chip 6", 0, 10, 0, "foot-only", kSmallFoot},
      {"chip 6", 0, -10, 0, "foot-only", kSmallFoot},
      {"chip 5", 0, 0, 0, "foot-only", kSmallFoot},
      {"chip 5", 0, -10, 0, "foot-only", kSmallFoot},
      {"chip 5", 10, 0, 0, "foot-only", kSmallFoot},
      {"knob", 0, -10, 0, "foot-only", "Only thumb and finger can pinch it, a shoe smears on it."},
      {"knob", 90, -10, 0, "foot-only", "Only thumb and finger can pinch it, a shoe smears on it."},
      {"rail 6", 0, 0, 0, "crimp", kCrimped},
      {"rail 6", 10, 0, 0, "crimp", kCrimped},
      {"ledge 30", 0, -20, 0, "jug", kGains},
      {"ledge 30", 5, -20, 0, "jug", kGains},
  };
}

}  // namespace

const std::vector<LabelledMounting>& tunedMountings() {
  static const std::vector<LabelledMounting> all = write();
  return all;
}

bool agrees(const LabelledMounting& m, const std::vector<std::string>& words) {
  if (words.empty()) return m.label == "nothing";
  const auto in = [](const std::vector<std::string>& all, const std::string& word) {
    return std::find(all.begin(), all.end(), word) != all.end();
  };
  return in(words, m.label) && (words.front() == m.label || in(m.also, words.front()));
}

ExactHold labelledHold(const std::string& key) {
  const auto at = makers().find(key);
  if (at == makers().end()) throw std::invalid_argument("No labelled hold is called " + key + ".");
  ExactHold hold = at->second();
  hold.name = key;
  return hold;
}

}  // namespace holdshelf
