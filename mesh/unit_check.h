// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>
#include <string>

#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// Units a mesh file may be in.
enum class LengthUnit { kMillimetre, kCentimetre, kInch, kMetre };

double millimetresIn(LengthUnit unit);

/// "mm", "cm", "in", "m".
/// @throws BadInput  None of these.
LengthUnit unitFromName(const std::string& name);

/// Holds are from about 20 to 1200 mm across (common practice, no source). A mesh that isn't, taken
/// as millimetres, but would be in another unit, was most likely made in that unit.
/// @return The unit that its size speaks for; nullopt where millimetres are plausible.
std::optional<LengthUnit> suspectedUnit(const TriangleMesh& mesh);

/// Refuses a mesh whose size speaks for another unit: nothing is converted silently.
/// @throws BadInput  "... is 3.9 mm across; that is 99 mm if it is in inches: say --units in ..."
void checkUnits(const TriangleMesh& mesh, const std::string& name);

}  // namespace holdshelf
