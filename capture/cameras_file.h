// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <map>
#include <string>

#include "capture/camera.h"

namespace holdshelf {

/// Known cameras from a text file, one line a photo:
///
///   NAME  K11 K12 K13 K21 K22 K23 K31 K32 K33  R11 .. R33  T1 T2 T3  [k1 k2 [p1 p2 [k3]]]
///
/// fields apart by spaces or tabs, matrices row by row: the photo's file name (no spaces), the
/// camera matrix in pixels (pixel centres at whole numbers, no skew), rotation and translation with
/// x_camera = R x + T in the file's own unit, then optional distortion (camera.proto). Empty lines
/// and what follows a '#' are skipped. A first line that is one number alone counts the cameras and
/// is checked. The parameter files of the Middlebury multi-view data read as they are.
///
/// @param unit_mm  Length of the file's unit: 1000 for metres.
/// @return  Camera of each photo name. Image sizes are 0: the photos have them.
/// @throws BadInput  A sentence with the line's number: too few or too many fields, no number, not
/// a
///                   camera matrix, not a rotation, a name twice, a count that is not kept.
std::map<std::string, PosedCamera> readCameras(const std::filesystem::path& file, double unit_mm);

/// The same from text; `where` opens the sentences.
std::map<std::string, PosedCamera> parseCameras(const std::string& text, const std::string& where,
                                                double unit_mm);

}  // namespace holdshelf
