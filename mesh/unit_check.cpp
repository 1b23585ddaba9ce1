// SPDX-License-Identifier: Apache-2.0
#include "mesh/unit_check.h"

#include <Eigen/Geometry>
#include <cstdio>

#include "mesh/bad_input.h"
#include "mesh/hold_size.h"

namespace holdshelf {
namespace {

constexpr double kSmallest_mm = 12, kLargest_mm = 1500;

double acrossOf(const TriangleMesh& mesh) {
  Eigen::AlignedBox3d box;
  for (const Eigen::Vector3d& v : mesh.vertices_mm) box.extend(v);
  return box.isEmpty() ? 0 : box.sizes().maxCoeff();
}

std::string number(double v) {
  char text[32];
  std::snprintf(text, sizeof text, "%.3g", v);
  return text;
}

const char* nameOf(LengthUnit unit) {
  switch (unit) {
    case LengthUnit::kMillimetre:
      return "mm";
    case LengthUnit::kCentimetre:
      return "cm";
    case LengthUnit::kInch:
      return "in";
    case LengthUnit::kMetre:
      return "m";
  }
  return "mm";
}

}  // namespace

double millimetresIn(LengthUnit unit) {
  switch (unit) {
    case LengthUnit::kMillimetre:
      return 1;
    case LengthUnit::kCentimetre:
      return 10;
    case LengthUnit::kInch:
      return 25.4;
    case LengthUnit::kMetre:
      return 1000;
  }
  return 1;
}

LengthUnit unitFromName(const std::string& name) {
  for (LengthUnit unit :
       {LengthUnit::kMillimetre, LengthUnit::kCentimetre, LengthUnit::kInch, LengthUnit::kMetre})
    if (name == nameOf(unit)) return unit;
  throw BadInput("'" + name + "' is no unit of length; give mm, cm, in or m.");
}

std::optional<LengthUnit> suspectedUnit(const TriangleMesh& mesh) {
  const double across = acrossOf(mesh);
  if (across >= kSmallest_mm && across <= kLargest_mm) return std::nullopt;
  // Metres make a hold a fraction of one, inches a few: the two ranges don't meet. Centimetres and
  // inches do, and inches are what design programs more often write.
  for (LengthUnit unit : {LengthUnit::kMetre, LengthUnit::kInch, LengthUnit::kCentimetre}) {
    const double real = across * millimetresIn(unit);
    if (real >= 20 && real <= 1200) return unit;
  }
  return std::nullopt;
}

void checkUnits(const TriangleMesh& mesh, const std::string& name) {
  const double across = acrossOf(mesh);
  if (const auto unit = suspectedUnit(mesh))
    throw BadInput(name + " is only " + number(across) + " mm across taken as millimetres, but " +
                   number(across * millimetresIn(*unit)) + " mm taken as " +
                   (*unit == LengthUnit::kMetre  ? "metres"
                    : *unit == LengthUnit::kInch ? "inches"
                                                 : "centimetres") +
                   "; say which with --units " + nameOf(*unit) + " or --units mm.");
  if (across < kSmallestHold_mm || across > kLargestHold_mm)
    throw BadInput(
        name + " is " + number(across) +
        " mm across, which no hold is; say its unit with --units, or look for a stray vertex.");
}

}  // namespace holdshelf
