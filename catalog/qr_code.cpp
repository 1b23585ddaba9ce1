// SPDX-License-Identifier: Apache-2.0
#include "catalog/qr_code.h"

#include <qrencode.h>

#include <memory>

#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr std::size_t kLongest = 1000;

bool inked(const QrCode& code, int x, int y) {
  return x >= 0 && y >= 0 && x < code.width && y < code.width && code.at(x, y);
}

}  // namespace

QrCode qrCode(const std::string& text) {
  if (text.empty() || text.size() > kLongest)
    throw BadInput("A QR code holds 1 to " + std::to_string(kLongest) + " letters, and this has " +
                   std::to_string(text.size()) + ".");
  const std::unique_ptr<QRcode, decltype(&QRcode_free)> made(
      QRcode_encodeData(static_cast<int>(text.size()),
                        reinterpret_cast<const unsigned char*>(text.data()), 0, QR_ECLEVEL_M),
      QRcode_free);
  if (!made) throw BadInput("No QR code can be made of this text.");
  QrCode code;
  code.width = made->width;
  const auto modules =
      static_cast<std::size_t>(made->width) * static_cast<std::size_t>(made->width);
  for (std::size_t i = 0; i < modules; ++i) code.dark.push_back((made->data[i] & 1) != 0);
  return code;
}

std::string qrSvg(const QrCode& code) {
  const std::string side = std::to_string(code.width + 2 * kQrQuiet);
  std::string svg = "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 " + side + " " + side +
                    "\" shape-rendering=\"crispEdges\"><path fill=\"#fff\" d=\"M0 0h" + side + "v" +
                    side + "H0z\"/><path d=\"";
  for (int y = 0; y < code.width; ++y)
    for (int x = 0; x < code.width; ++x) {
      int run = 0;
      while (x + run < code.width && code.at(x + run, y)) ++run;
      if (run == 0) continue;
      const std::string length = std::to_string(run);
      svg += "M" + std::to_string(x + kQrQuiet) + " " + std::to_string(y + kQrQuiet) + "h" +
             length + "v1h-" + length + "z";
      x += run;
    }
  return svg + "\"/></svg>";
}

std::string qrText(const QrCode& code) {
  std::string text;
  for (int y = -kQrQuiet; y < code.width + kQrQuiet; y += 2) {
    text += "\x1b[30;47m";
    for (int x = -kQrQuiet; x < code.width + kQrQuiet; ++x) {
      const bool upper = inked(code, x, y), lower = inked(code, x, y + 1);
      text += upper ? lower ? "\u2588" : "\u2580" : lower ? "\u2584" : " ";
    }
    text += "\x1b[0m\n";
  }
  return text;
}

}  // namespace holdshelf
