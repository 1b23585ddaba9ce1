// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "proto/mat.pb.h"

namespace holdshelf {

/// A mat to print: its description and a PDF of one page at true scale.
struct PrintedMat {
  Mat mat;
  std::string pdf;  ///< Bytes of the file. Asks viewers not to scale when printing.
};

/// Lays out a mat for a sheet: a grid of ArUco markers (DICT_5X5_250) all over, an even number each
/// way, so that the middle, where the hold's bolt goes, is a cross between four markers; numbers 1
/// to 12 round the grid, one every 30 degrees, to turn or walk to, for a photo each in a low, a
/// middle and a high ring; three ellipses that look round from the heights of these rings; and a
/// ruler of 100 mm, which the printout must be checked with. Each
/// paper has ids of its own, so that sheets cannot be mistaken for each other. Frame M: origin at
/// the cross, x right, y up the portrait sheet.
///
/// @param paper  "A4", "A3" or "A2".
/// @throws BadInput  Another paper.
PrintedMat makeMat(const std::string& paper);

}  // namespace holdshelf
