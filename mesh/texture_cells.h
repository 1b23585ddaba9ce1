// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <string>
#include <string_view>
#include <vector>

namespace holdshelf {

/// How much fine texture a scanned surface has around one place.
struct TextureCell {
  Eigen::Vector3d at_mm = Eigen::Vector3d::Zero();  ///< Frame of the mesh.
  double contrast = 0;  ///< Root mean square of the detail, a fraction of the brightness.
  double sigma = 0;     ///< Its standard uncertainty.
};

/// A scan's texture, a cell of this size each.
struct TextureCells {
  double cell_mm = 0;
  std::vector<TextureCell> cells;
};

/// A scan's texture is kept in its mesh file: a last element of the PLY named "texture", which
/// readers that know nothing of it pass over. Without cells the file stays as it is.
/// @param ply  As plyBytes() gives it.
std::string withTexture(std::string ply, const TextureCells& texture);

/// The texture in such a file's bytes; without cells where there is none, or one that no scan
/// gives: with numbers that are none, or in more than 100 000 cells.
TextureCells textureIn(std::string_view ply);

}  // namespace holdshelf
