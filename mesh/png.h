// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>
#include <string>
#include <vector>

#include "mesh/raster_image.h"

namespace holdshelf {

/// The picture as a PNG file's bytes.
std::vector<std::uint8_t> encodePng(const RasterImage& image);

/// The picture in a PNG file's bytes, alpha laid over white.
/// @throws BadInput  Not a whole PNG file; `name` says which in the message.
RasterImage decodePng(const std::vector<std::uint8_t>& bytes, const std::string& name);

}  // namespace holdshelf
