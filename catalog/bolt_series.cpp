// SPDX-License-Identifier: Apache-2.0
#include "catalog/bolt_series.h"

#include <cmath>
#include <cstdlib>
#include <optional>
#include <stdexcept>

#include "catalog/shown_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr double kInch_mm = 25.4;

/// ISO 888, nominal lengths of bolts, screws and studs. From memory.
constexpr int kMetric_mm[] = {16, 20, 25,  30,  35,  40,  45,  50,  55,  60,  65, 70,
                              80, 90, 100, 110, 120, 130, 140, 150, 160, 180, 200};

/// A number of eighths of an inch as it is written: 18 gives "2 1/4".
std::string eighthsText(int eighths) {
  const int whole = eighths / 8;
  int top = eighths % 8, bottom = 8;
  while (top != 0 && top % 2 == 0) top /= 2, bottom /= 2;
  std::string text = whole > 0 || top == 0 ? std::to_string(whole) : "";
  if (top != 0)
    text += (text.empty() ? "" : " ") + std::to_string(top) + "/" + std::to_string(bottom);
  return text;
}

/// ASME B18.3, steps of nominal length: 1/8 in to 1 in, 1/4 to 3 1/2, 1/2 to 7, above 1. From
/// memory.
std::vector<StockedLength> inchLengths() {
  std::vector<StockedLength> lengths;
  for (int eighths = 4; eighths <= 64;) {
    lengths.push_back({eighths * kInch_mm / 8, eighthsText(eighths)});
    eighths += eighths < 8 ? 1 : eighths < 28 ? 2 : eighths < 56 ? 4 : 8;
  }
  return lengths;
}

BoltSeries metricSeries() {
  BoltSeries m;
  m.thread = M10;
  m.name = "M10";
  m.diameter_mm = 10;
  m.pitch_mm = 1.5;
  m.clearance_mm = 10.5;      // ISO 273, fine.
  m.cap_diameter_mm = 16.27;  // ISO 4762, knurled head.
  m.cap_height_mm = 10;       // ISO 4762.
  m.cone_diameter_mm = 22.4;  // ISO 10642, theoretical; an older head (DIN 7991) has 20.
  m.cone_deg = 90;            // ISO 10642.
  m.washer_diameter_mm = 20;  // ISO 7089.
  m.thread_mm = 32;           // ISO 4762, reference.
  for (const int length_mm : kMetric_mm)
    m.lengths.push_back({static_cast<double>(length_mm), std::to_string(length_mm)});
  return m;
}

BoltSeries inchSeries() {
  BoltSeries i;
  i.thread = INCH_3_8_16;
  i.name = "3/8-16";
  i.inch = true;
  i.diameter_mm = 0.375 * kInch_mm;
  i.pitch_mm = kInch_mm / 16;
  i.clearance_mm = 0.397 * kInch_mm;         // Close fit; from memory.
  i.cap_diameter_mm = 0.562 * kInch_mm;      // ASME B18.3.
  i.cap_height_mm = 0.375 * kInch_mm;        // ASME B18.3.
  i.cone_diameter_mm = 0.75 * kInch_mm;      // ASME B18.3, theoretical; from memory.
  i.cone_deg = 82;                           // ASME B18.3; from memory.
  i.washer_diameter_mm = 0.8125 * kInch_mm;  // Plain washer for 3/8; from memory.
  i.thread_mm = 1.25 * kInch_mm;             // ASME B18.3; from memory.
  i.lengths = inchLengths();
  return i;
}

/// A whole number and a fraction, each optional: "2 1/4", "3/8", "47.5".
std::optional<double> numberOf(const std::string& text) {
  const char* at = text.c_str();
  char* end = nullptr;
  double value = std::strtod(at, &end);
  if (end == at) return std::nullopt;
  if (*end == '/') {
    at = end + 1;
    const double bottom = std::strtod(at, &end);
    if (end == at || !(bottom > 0)) return std::nullopt;
    value /= bottom;
  } else if (*end == ' ') {
    const auto fraction = numberOf(end + 1);
    if (!fraction || !(*fraction > 0 && *fraction < 1)) return std::nullopt;
    return value + *fraction;
  }
  return *end == '\0' && std::isfinite(value) ? std::optional(value) : std::nullopt;
}

}  // namespace

const BoltSeries& boltSeries(Thread thread) {
  static const BoltSeries metric = metricSeries(), inch = inchSeries();
  if (thread == M10) return metric;
  if (thread == INCH_3_8_16) return inch;
  throw std::invalid_argument("boltSeries: no thread");
}

double fullStrengthEngagement_mm(const BoltSeries& series) {
  const double d = series.diameter_mm, p = series.pitch_mm;
  // Basic profile of ISO 68-1, the same for UN threads: minor and pitch diameter, stress area.
  const double d1 = d - 1.082532 * p, d2 = d - 0.649519 * p;
  const double area = M_PI / 4 * std::pow(d - 0.938194 * p, 2);
  return 2 * area / (M_PI * d1 * (0.5 + 0.57735 * (d2 - d1) / p));
}

Thread threadFromText(const std::string& text) {
  if (text == "M10" || text == "m10" || text == "M10x1.5") return M10;
  if (text == "3/8-16" || text == "3/8" || text == "INCH_3_8_16") return INCH_3_8_16;
  throw BadInput("\"" + shownStart(text, 40) +
                 "\" is not a thread that T-nuts here have: use M10 or 3/8-16.");
}

double boltLength_mm(Thread thread, const std::string& text) {
  const auto number = numberOf(text);
  const double length_mm = number.value_or(0) * (boltSeries(thread).inch ? kInch_mm : 1);
  if (!number || !(length_mm >= 5 && length_mm <= 500))
    throw BadInput("\"" + shownStart(text, 40) + "\" is not the length of a " +
                   boltSeries(thread).name + " bolt: write " +
                   (boltSeries(thread).inch ? "inches, as 2 1/4." : "mm, as 55."));
  return length_mm;
}

}  // namespace holdshelf
