// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <array>
#include <string>

#include "proto/hold.pb.h"

namespace holdshelf {

/// CIELAB under D65 and the 2-degree observer.
struct Lab {
  double L = 0, a = 0, b = 0;
};

/// CIELAB of an sRGB colour with channels 0 to 1 (IEC 61966-2-1).
Lab labFromSrgb(const std::array<double, 3>& srgb);

/// Lab of "#be0032" or "be0032". @throws BadInput  It is not six hex digits.
Lab labFromHex(const std::string& hex);

/// A name of the eleven basic colour terms (Berlin and Kay 1969: black, white, grey, red, orange,
/// yellow, green, blue, purple, pink, brown), with one of the modifiers light, dark, pale, deep,
/// vivid where it helps: "vivid red", "dark green", "pink". The modifiers follow the plan of
/// lightness and saturation of ISCC-NBS (Kelly and Judd, NBS SP 440, 1976), simplified: bounds
/// are in CIELAB and are a judgement. The term is the last word.
std::string colourName(const Lab& lab);

/// The basic term of a name: "vivid red" gives "red".
std::string basicTerm(const std::string& name);

Colour colourFromSrgb(const std::array<double, 3>& srgb);

}  // namespace holdshelf
