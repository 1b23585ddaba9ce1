// SPDX-License-Identifier: Apache-2.0
#pragma once
#include "mesh/deviation.h"
#include "mesh/triangle_mesh.h"
#include "proto/shape.pb.h"
#include "proto/wear.pb.h"

namespace holdshelf {

/// How the lips of a hold changed between two scans, rotation by rotation: adds a LipChange to the
/// wear for each rotation at which both shapes have the same lip (within 4 mm) with a radius.
///
/// The radius grew by what is gone along the lip (lip_loss.h), or by the fitted radii's difference
/// where that says nothing. A change is sure where the growth is beyond `sure_sigmas` of its
/// standard uncertainty, the surface around the lip (6 mm) has lost more than the detection limit
/// and more than a tenth of the growth, and both hold at a neighbouring rotation (5 degrees), too:
/// a fitted radius can jump, and one rotation of many is beyond any limit by chance.
/// @param baseline   The first scan's mesh, which the deviation belongs to, frame H.
/// @param before     Shape of the first scan.
/// @param now        Shape of the later scan, measured in the first one's frame.
void addLipGrowth(const TriangleMesh& baseline, const Deviation& deviation, const Shape& before,
                  const Shape& now, double sure_sigmas, Wear& wear);

}  // namespace holdshelf
