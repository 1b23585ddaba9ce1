// SPDX-License-Identifier: Apache-2.0
#include "mesh/texture_cells.h"

#include <array>
#include <charconv>
#include <cmath>

#include "mesh/byte_cursor.h"

namespace holdshelf {
namespace {

constexpr std::string_view kEnd = "end_header\n", kElement = "element texture ";
constexpr std::string_view kProperties =
    "property float x\nproperty float y\nproperty float z\nproperty float contrast\n"
    "property float sigma\nproperty float cell_mm\n";
constexpr std::size_t kFloats = 6;
// Of 8 mm each, a volume a metre and a half long has 70 000; each is compared with each.
constexpr std::size_t kMostCells = 100'000;

/// Whether these are a place, a contrast, its uncertainty and a cell's size.
bool isCell(const std::array<double, kFloats>& v) {
  for (const double value : v)
    if (!std::isfinite(value)) return false;
  return v[3] >= 0 && v[4] >= 0 && v[5] > 0;
}

}  // namespace

std::string withTexture(std::string ply, const TextureCells& texture) {
  const std::size_t end = ply.find(kEnd);
  if (texture.cells.empty() || end == std::string::npos) return ply;
  ply.insert(end, std::string(kElement) + std::to_string(texture.cells.size()) + "\n" +
                      std::string(kProperties));
  for (const TextureCell& cell : texture.cells)
    for (const double value : {cell.at_mm.x(), cell.at_mm.y(), cell.at_mm.z(), cell.contrast,
                               cell.sigma, texture.cell_mm})
      appendLittleEndian(ply, static_cast<float>(value));
  return ply;
}

TextureCells textureIn(std::string_view ply) {
  TextureCells texture;
  const std::string_view header = ply.substr(0, ply.find(kEnd));
  const std::size_t at = header.find(kElement);
  if (at == std::string_view::npos || header.size() == ply.size()) return texture;
  std::size_t count = 0;
  const std::string_view number = header.substr(at + kElement.size());
  const auto read = std::from_chars(number.data(), number.data() + number.size(), count);
  // Only what withTexture() wrote: the last element, with these properties.
  const std::size_t after = static_cast<std::size_t>(read.ptr - number.data()) + 1;
  if (read.ec != std::errc() || after > number.size() || number.substr(after) != kProperties)
    return texture;
  constexpr std::size_t kBytes = kFloats * sizeof(float);
  if (count > kMostCells || count > (ply.size() - header.size() - kEnd.size()) / kBytes)
    return texture;
  ByteCursor cursor(ply.substr(ply.size() - count * kBytes), "texture");
  for (std::size_t i = 0; i < count; ++i) {
    std::array<double, kFloats> v{};
    for (double& value : v) value = static_cast<double>(cursor.read<float>(false));
    if (!isCell(v)) return {};
    texture.cells.push_back({{v[0], v[1], v[2]}, v[3], v[4]});
    texture.cell_mm = v[5];
  }
  return texture;
}

}  // namespace holdshelf
