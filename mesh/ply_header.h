// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "mesh/byte_cursor.h"

namespace holdshelf {

/// Ordered so that whole numbers come before kFloat.
enum class PlyType { kInt8, kUint8, kInt16, kUint16, kInt32, kUint32, kFloat, kDouble };

enum class PlyEncoding { kText, kLittle, kBig };  ///< Numbers as words, or in either byte order.

struct PlyProperty {
  std::string name;
  PlyType type = PlyType::kFloat;
  std::optional<PlyType> list_count;  ///< A list: the type of its length.
};

/// A run of like things: vertices, faces, or what this project knows nothing of.
struct PlyElement {
  std::string name;
  std::int64_t count = 0;
  std::vector<PlyProperty> properties;
};

/// What a PLY file says of itself before its data.
struct PlyHeader {
  PlyEncoding encoding = PlyEncoding::kText;
  double wall_sigma_mm = 0;  ///< From a comment in files of plyBytes(); 0: not said.
  std::vector<PlyElement> elements;
};

/// What plyBytes() writes before the wall's uncertainty, in a comment.
inline constexpr std::string_view kPlyWallComment = "wall_sigma_mm";

/// Bytes that a number takes in a binary file.
std::size_t plyBytesOf(PlyType type);

/// Reads the header, up to and with the line that ends it.
///
/// An element takes at least its numbers' bytes, or two in text (a digit and a space); a header
/// that promises more elements than the rest of the file can hold is refused before anything is
/// made room for. So is one of more than a hundred kinds of elements, or a thousand properties of
/// one.
/// @throws BadInput  No PLY header, or one that does not fit the file.
PlyHeader parsePlyHeader(ByteCursor& file);

/// @throws BadInput  Always: `what` is wrong with the file that is read.
[[noreturn]] void refusePly(const ByteCursor& at, const std::string& what);

}  // namespace holdshelf
