// SPDX-License-Identifier: Apache-2.0
// PLY as described by Greg Turk, "The PLY Polygon File Format", 1994: a text header that names
// elements and their properties in any order, then the elements as text or binary.
#include "mesh/ply_header.h"

#include <algorithm>
#include <utility>

#include "mesh/bad_input.h"
#include "mesh/mesh_formats.h"

namespace holdshelf {
namespace {

// A mesh has two kinds of elements, and edges or materials make it four or five; the properties of
// a scan's vertices are a dozen or two. What is beyond these bounds is made to keep a reader busy.
constexpr std::size_t kMostElements = 100, kMostProperties = 1000;

std::optional<PlyType> typeFromName(std::string_view name) {
  static constexpr std::pair<std::string_view, PlyType> kNames[] = {
      {"char", PlyType::kInt8},     {"int8", PlyType::kInt8},     {"uchar", PlyType::kUint8},
      {"uint8", PlyType::kUint8},   {"short", PlyType::kInt16},   {"int16", PlyType::kInt16},
      {"ushort", PlyType::kUint16}, {"uint16", PlyType::kUint16}, {"int", PlyType::kInt32},
      {"int32", PlyType::kInt32},   {"uint", PlyType::kUint32},   {"uint32", PlyType::kUint32},
      {"float", PlyType::kFloat},   {"float32", PlyType::kFloat}, {"double", PlyType::kDouble},
      {"float64", PlyType::kDouble}};
  for (const auto& [known, type] : kNames)
    if (known == name) return type;
  return std::nullopt;
}

PlyProperty parseProperty(ByteCursor& words, const ByteCursor& file) {
  PlyProperty property;
  std::string_view type = words.word();
  if (type == "list") {
    property.list_count = typeFromName(words.word());
    if (!property.list_count || *property.list_count >= PlyType::kFloat)
      refusePly(file, "the header has a list whose length is of no whole-number type");
    type = words.word();
  }
  const auto known = typeFromName(type);
  property.name = std::string(words.word());
  if (!known || property.name.empty())
    refusePly(file, "the header has a property of unknown type '" +
                        std::string(type.substr(0, 20)) + "'");
  property.type = *known;
  return property;
}

PlyEncoding parseEncoding(ByteCursor& words, const ByteCursor& file) {
  const std::string_view encoding = words.word();
  if (encoding == "ascii") return PlyEncoding::kText;
  if (encoding == "binary_little_endian") return PlyEncoding::kLittle;
  if (encoding == "binary_big_endian") return PlyEncoding::kBig;
  refusePly(file,
            "the header names the unknown encoding '" + std::string(encoding.substr(0, 20)) + "'");
}

/// An element can't be smaller than this, which shows up a header that promises what isn't there.
std::int64_t smallestBytes(const PlyElement& element, PlyEncoding encoding) {
  std::int64_t bytes = 0;
  for (const PlyProperty& p : element.properties)
    bytes += encoding == PlyEncoding::kText
                 ? 2
                 : static_cast<std::int64_t>(plyBytesOf(p.list_count.value_or(p.type)));
  return std::max<std::int64_t>(bytes, 1);
}

}  // namespace

std::size_t plyBytesOf(PlyType type) {
  switch (type) {
    case PlyType::kInt8:
    case PlyType::kUint8:
      return 1;
    case PlyType::kInt16:
    case PlyType::kUint16:
      return 2;
    case PlyType::kDouble:
      return 8;
    default:
      return 4;
  }
}

void refusePly(const ByteCursor& at, const std::string& what) {
  throw BadInput(at.name() + ": " + what + "; export the mesh again as PLY.");
}

PlyHeader parsePlyHeader(ByteCursor& file) {
  PlyHeader header;
  bool has_encoding = false;
  if (file.line() != "ply") refusePly(file, "this is no PLY file");
  for (;;) {
    if (file.left() == 0) refusePly(file, "the header has no end");
    ByteCursor words(file.line(), file.name());
    const std::string_view key = words.word();
    if (key == "end_header") break;
    if (key == "format") {
      header.encoding = parseEncoding(words, file);
      has_encoding = true;
    } else if (key == "element") {
      PlyElement element;
      element.name = std::string(words.word());
      if (!parseNumber(words.word(), element.count) || element.count < 0)
        refusePly(file,
                  "the header gives no count of its '" + element.name.substr(0, 20) + "' elements");
      if (header.elements.size() == kMostElements)
        refusePly(file, "the header names more than " + std::to_string(kMostElements) +
                            " kinds of elements");
      header.elements.push_back(element);
    } else if (key == "property") {
      if (header.elements.empty()) refusePly(file, "the header has a property before any element");
      if (header.elements.back().properties.size() == kMostProperties)
        refusePly(file, "the header gives one kind of element more than " +
                            std::to_string(kMostProperties) + " properties");
      header.elements.back().properties.push_back(parseProperty(words, file));
    } else if (key == "comment" && words.word() == kPlyWallComment) {
      double sigma = 0;
      if (parseNumber(words.word(), sigma) && sigma > 0 && sigma < 100)
        header.wall_sigma_mm = sigma;
    }
  }
  if (!has_encoding) refusePly(file, "the header names no encoding");
  for (const PlyElement& e : header.elements)
    // The last number of a text file need not be followed by anything, hence the one byte.
    if (e.count > (static_cast<std::int64_t>(file.left()) + 1) / smallestBytes(e, header.encoding))
      throw BadInput(file.name() + ": the header promises " + std::to_string(e.count) + " of '" +
                     e.name.substr(0, 20) + "', but only " + std::to_string(file.left()) +
                     " bytes follow; the file was cut off or is damaged, export it again.");
  return header;
}

}  // namespace holdshelf
