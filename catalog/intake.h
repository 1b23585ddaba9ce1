// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "capture/rebuild.h"
#include "catalog/library.h"
#include "proto/intake.pb.h"
#include "proto/twins.pb.h"

namespace holdshelf {

/// What a person says of a hold when it comes in.
struct IntakeLabels {
  std::string id;  ///< Empty: the next free one.
  std::string name, bin, set, maker, texture;
  int count = 1;    ///< Identical pieces.
  std::string who;  ///< Who takes it in; empty: the user of this machine.
  /// As a person calls it; empty: as it was scanned. Not of one more of a lot.
  std::string colour = {};
};
/// What a message of photos on their way in says of their hold.
IntakeLabels labelsOf(const Intake& intake);

/// What a hold that just came in is.
struct IntakeChoice {
  enum class Kind {
    New,      ///< A hold of its own.
    NewScan,  ///< A hold that is here already, scanned again.
    OneMore,  ///< One more piece of a lot: its count grows; the contact sheet is kept as a photo.
  };
  Kind kind = Kind::New;
  std::string of = {};  ///< The hold, unless New.
};

struct IntakeOptions {
  IntakeLabels labels;
  std::optional<Mat> mat;  ///< May be missing only with rebuild.cameras_file.
  RebuildOptions rebuild;
  bool keep_photos = true;       ///< Copy the photos into the library; they are never altered.
  std::string new_scan_of = {};  ///< Adds a scan to this hold instead of making a new one.
  /// Asked when the scan is ready, with the holds here that have its shape; neither asked nor
  /// looked for with new_scan_of. Without it, the hold is new.
  std::function<IntakeChoice(const TwinList&)> choose = {};
};

/// Photos in, record out: rebuilds, measures, says what the hold is good for, names its colour, and
/// stores all of it in one commit. The id is checked before the work starts, and again at the end.
/// @return  The hold as stored.
/// @throws BadInput     Bad photos, mat or id; nothing is stored.
/// @throws Interrupted  progress returned false; nothing is stored.
Hold intake(const std::filesystem::path& library_folder,
            const std::vector<std::filesystem::path>& photos, const IntakeOptions& options,
            const Progress& progress);

/// A scan that is ready to be stored: the files beside the numbers.
struct FinishedScan {
  Scan scan;                    ///< Without id and blobs.
  std::vector<GripWord> words;  ///< What it is good for.
  std::string mesh_ply, mesh_glb, contact_sheet_png, thumbnail_png;
  std::vector<std::filesystem::path> photos;
};

/// Measures and judges a mesh in frame H; without pictures and photos, its colour that of its
/// vertices where they have one.
FinishedScan finishMesh(const TriangleMesh& mesh, const Progress& progress);

/// Measures and judges what was rebuilt.
FinishedScan finishScan(const Rebuilt& rebuilt, const Progress& progress);

/// A scan that waits for a person to say what it is.
struct ReadyScan {
  FinishedScan finished;
  TwinList again;  ///< Holds of the library that have its shape, the likeliest first.
};

/// Photos in, scan out, nothing stored: rebuilds, measures, judges, and looks for its twins in the
/// library, if there is one. Photos are not kept.
/// @throws BadInput, Interrupted  As intake().
ReadyScan readyScan(const std::filesystem::path& library_folder,
                    const std::vector<std::filesystem::path>& photos, const std::optional<Mat>& mat,
                    const RebuildOptions& options, const Progress& progress);

/// Stores a finished scan as what was chosen. @throws BadInput  There is no hold `choice.of`.
/// @param within  Called inside the transaction with the hold's id; throws to refuse.
Hold storeScan(Library& library, FinishedScan finished, const IntakeLabels& labels,
               const IntakeChoice& choice = {},
               const std::function<void(const std::string& hold)>& within = {});

/// The hold that a scan made, or came to, since storing it began; empty: it was cut off before.
/// An event of it is known by what it names: the mesh or, of one more of a lot, the contact sheet.
/// @param number       The first event that could be of it.
/// @param mesh, sheet  The SHA-256 of its mesh and of its contact sheet.
std::string storedSince(const Library& library, std::int64_t number, const std::string& mesh,
                        const std::string& sheet);

/// "This is H-0412 again (0.08 mm).", or what else the twin is; at once, for the clerk.
std::string againText(const Twin& twin);

}  // namespace holdshelf
