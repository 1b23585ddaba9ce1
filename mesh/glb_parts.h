// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstddef>
#include <cstdint>
#include <string>

namespace holdshelf {

/// What the description of a GLB with one mesh is put together from, piece by piece
/// (glTF 2.0, 3.6).
struct GlbParts {
  std::string bin;         ///< The binary chunk; every piece begins at a multiple of four.
  std::string views;       ///< JSON of the buffer views,
  std::string accessors;   ///< of the accessors, one a view,
  std::string attributes;  ///< and of the primitive's attributes.
  int count = 0;           ///< Of the views.

  /// Appends one view with one accessor over all of it.
  /// @param attribute       Its name (POSITION, COLOR_0, ...); empty: these are the indices.
  /// @param stride          Bytes from element to element; 0: they lie close.
  /// @param component_type  5120 int8, 5121 uint8, 5122 int16, 5123 uint16, 5125 uint32, 5126
  /// float.
  /// @param type            SCALAR, VEC3 or VEC4.
  /// @param more            Further members of the accessor, each with a comma before it.
  void add(const std::string& attribute, const std::string& bytes, int stride, std::size_t elements,
           int component_type, const std::string& type, const std::string& more = "");
};

/// The whole file: header, description, binary chunk (4.4). Both chunks are padded to fours.
std::string glbFile(std::string json, std::string bin);

}  // namespace holdshelf
