// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <string>

#include "catalog/intake.h"

namespace holdshelf {

/// A ready-made mesh in, record out: repaired, laid into the hold frame, measured, judged, stored
/// in one commit, like a hold from photos but without pictures and without a capture's report.
/// Without a colour in the labels it has that of the mesh's vertices, if they have any.
/// @throws BadInput  No mesh, a mesh without a flat back, or an id that is there already: nothing
///                   is stored then.
Hold shelveMesh(const std::filesystem::path& library_folder, const std::filesystem::path& mesh,
                const IntakeLabels& labels, const Progress& progress);

}  // namespace holdshelf
