// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <array>
#include <filesystem>

namespace holdshelf {

/// The colour that a picture shows in its middle: the median of the middle third each way, as sRGB
/// from 0 to 1. For a colour patch, or a photo held close to a hold. The light it was taken in is
/// not taken out: against holds, whose colours are relative to their mat's white, allow for that.
/// @throws BadInput  It is no readable JPEG or PNG (see readPhoto).
std::array<double, 3> patchColour_srgb(const std::filesystem::path& picture);

}  // namespace holdshelf
