// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

namespace holdshelf {

/// A QR code (ISO/IEC 18004) of a text, error correction level M: a seventh of it may be chalk.
struct QrCode {
  int width = 0;           ///< Modules along a side, without the quiet zone.
  std::vector<bool> dark;  ///< width x width, row by row from the top.

  bool at(int x, int y) const { return dark[static_cast<std::size_t>(y * width + x)]; }
};

/// Modules that have to stay light around the code (ISO/IEC 18004, 6.3.8).
inline constexpr int kQrQuiet = 4;

/// @throws BadInput  The text is empty or longer than a code holds.
QrCode qrCode(const std::string& text);

/// As an SVG picture of its own with quiet zone, black on white, a unit a module.
std::string qrSvg(const QrCode& code);
/// For a terminal: two modules a character, dark on light whatever the terminal's colours.
std::string qrText(const QrCode& code);

}  // namespace holdshelf
