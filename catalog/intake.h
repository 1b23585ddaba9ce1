// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "capture/rebuild.h"
#include "catalog/library.h"
#include "proto/twins.pb.h"

namespace holdshelf {

/// What a person says of a hold when it comes in.
struct IntakeLabels {
  std::string id;  ///< Empty: the next free one.
  std::string name, bin, set, maker, texture;
  int count = 1;  ///< Identical pieces.
};

struct IntakeOptions {
  IntakeLabels labels;
  std::optional<Mat> mat;  ///< May be missing only with rebuild.cameras_file.
  RebuildOptions rebuild;
  bool keep_photos = true;       ///< Copy the photos into the library; they are never altered.
  std::string new_scan_of = {};  ///< Adds a scan to this hold instead of making a new one.
};

/// Photos in, record out: rebuilds, measures, says what the hold is good for, names its colour, and
/// stores all of it in one commit. The id is checked before the work starts, and again at the end.
/// @return  The hold as stored.
/// @throws BadInput     Bad photos, mat or id; nothing is stored.
/// @throws Interrupted  progress returned false; nothing is stored.
Hold intake(const std::filesystem::path& library_folder,
            const std::vector<std::filesystem::path>& photos, const IntakeOptions& options,
            const Progress& progress);

/// What the library says of a hold that just came in: its twins among the holds that were there
/// before, so that the person can choose whether it is the same piece, one more, or new.
TwinList twinsOfNew(const Library& library, const Hold& hold);

/// A scan that is ready to be stored: the files beside the numbers.
struct FinishedScan {
  Scan scan;                    ///< Without id and blobs.
  std::vector<GripWord> words;  ///< What it is good for.
  std::string mesh_ply, mesh_glb, contact_sheet_png, thumbnail_png;
  std::vector<std::filesystem::path> photos;
};

/// Measures and judges what was rebuilt.
FinishedScan finishScan(const Rebuilt& rebuilt, const Progress& progress);

/// Stores a finished scan: as a new hold, or as one more scan of `new_scan_of`.
Hold storeScan(Library& library, FinishedScan finished, const IntakeLabels& labels,
               const std::string& new_scan_of = {});

}  // namespace holdshelf
