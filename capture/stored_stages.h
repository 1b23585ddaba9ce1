// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "capture/calibrate.h"
#include "capture/depth_map.h"
#include "mesh/triangle_mesh.h"
#include "proto/stages.pb.h"

namespace holdshelf {

/// Results of stages as bytes for a StageStore (stage_store.h) and back, bit for bit. The readers
/// return nullopt for bytes that are not what the writer made.

/// True for the time of a stage that an earlier run finished: its name ends in "(earlier run)".
bool isReused(const StageTime& time);

/// The views' pixels are left out, since the photos are at hand; masks go along where there are
/// any.
std::string storedViews(const CalibratedCapture& capture);
/// Photos are read and undistorted again, so there must be the capture's one lens.
/// @throws BadInput  A photo cannot be read any more.
std::optional<CalibratedCapture> restoredViews(const std::string& bytes,
                                               const std::vector<std::filesystem::path>& photos,
                                               const Progress& progress);

std::string storedDepth(const std::vector<DepthMap>& maps, const std::vector<StageTime>& times);
std::optional<std::vector<DepthMap>> restoredDepth(const std::string& bytes,
                                                   std::vector<StageTime>& times);

/// Vertices, triangles, uncertainty and guesswork.
std::string storedMesh(const TriangleMesh& mesh, const std::vector<StageTime>& times);
std::optional<TriangleMesh> restoredMesh(const std::string& bytes, std::vector<StageTime>& times);

}  // namespace holdshelf
