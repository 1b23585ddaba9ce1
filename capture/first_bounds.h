// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Geometry>
#include <optional>
#include <vector>

#include "capture/photo_layer.h"

namespace holdshelf {

/// The space in which to look for the hold, frame H, mm: the box where it is known, else the room
/// above the mat, else around where the cameras' axes meet, as far as the widest frame reaches.
Eigen::AlignedBox3d stageOf(const std::vector<View>& views, const PhotoLight& light,
                            const std::optional<Eigen::AlignedBox3d>& box_mm, double floor_z_mm);

/// First bounds of the hold, before its colours are known: coarse carving of the stage, where few
/// photos see through to the bare ground. Sets `limit` and `core` of layers whose `bare` and, on a
/// mat, `patterned` are marked.
/// @throws BadInput  Nothing stands there.
void boundHold(const Eigen::AlignedBox3d& stage, bool on_mat, std::vector<PhotoLayer>& layers);

}  // namespace holdshelf
