// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <CLI/CLI.hpp>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "capture/rebuild.h"

namespace holdshelf {

/// The flags that rebuild and intake share: where the photos and the mat are, and the scale.
struct CaptureFlags {
  std::vector<std::filesystem::path> photos;
  std::string mat, cameras, box, units = "mm", ruler, quality = "normal";
  std::optional<double> mat_scale;  ///< Unset: 1, or what the sheet's edges say.
  std::filesystem::path scratch;    ///< Of finished stages; empty: the user's cache.
  bool fresh = false;               ///< Takes up nothing and keeps nothing.
};

void addCaptureFlags(CLI::App* command, CaptureFlags& flags);

/// @throws BadInput  A photo is missing, a flag's text has the wrong form, or flags contradict.
RebuildOptions rebuildOptions(const CaptureFlags& flags);

/// The mat of --mat; nullopt with --cameras. @throws BadInput  Neither or an unusable mat file.
std::optional<Mat> matOf(const CaptureFlags& flags);

/// True over nominal length from "100=98.2": what the mat's ruler says and what a ruler measures.
/// @throws BadInput  Not two lengths, or a factor beyond 0.8 to 1.25.
double scaleFromRuler(const std::string& text);

}  // namespace holdshelf
