// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <array>
#include <filesystem>
#include <string>
#include <vector>

#include "proto/mat.pb.h"

namespace holdshelf {

/// Reads a mat from its JSON file (proto3 mapping of Mat) and checks it.
/// @throws BadInput  Missing, not JSON, unknown field, or anything that checkMat refuses.
Mat readMat(const std::filesystem::path& file);

/// The same from text; `where` opens the sentences.
Mat parseMat(const std::string& json, const std::string& where);

/// Refuses what is no mat: an unknown dictionary, no markers, an id out of the dictionary's range
/// or used twice, not exactly four corners, corners not finite, not clockwise seen from above, not
/// convex or far from square (sides over 3:1), sides outside 2 to 2000 mm, markers that overlap.
/// @throws BadInput  One sentence: which marker, what is wrong, what to do.
void checkMat(const Mat& mat, const std::string& where);

/// OpenCV's number of a dictionary name such as "DICT_6X6_250", or -1.
int dictionaryNumber(const std::string& name);

/// The corners of every marker in true millimetres: nominal times `scale`. Frame M, order as in the
/// mat, four a marker: point 4 m + c is corner c of marker m.
std::vector<Eigen::Vector2d> matCorners_M_mm(const Mat& mat, double scale);

}  // namespace holdshelf
