// SPDX-License-Identifier: Apache-2.0
// PLY as described by Greg Turk, "The PLY Polygon File Format", 1994: a text header that names
// elements and their properties in any order, then the elements as text or binary.
#include <array>
#include <optional>
#include <vector>

#include "mesh/byte_cursor.h"
#include "mesh/mesh_formats.h"

namespace holdshelf {
namespace {

constexpr std::string_view kWallComment = "wall_sigma_mm";

enum class Type { kInt8, kUint8, kInt16, kUint16, kInt32, kUint32, kFloat, kDouble };
enum class Encoding { kText, kLittle, kBig };

struct Property {
  std::string name;
  Type type = Type::kFloat;
  std::optional<Type> list_count;  ///< A list: the type of its length.
};

struct Element {
  std::string name;
  std::int64_t count = 0;
  std::vector<Property> properties;
};

struct Header {
  Encoding encoding = Encoding::kText;
  double wall_sigma_mm = 0;  ///< From a comment of this project's own files; 0: not said.
  std::vector<Element> elements;
};

std::optional<Type> typeFromName(std::string_view name) {
  static constexpr std::pair<std::string_view, Type> kNames[] = {
      {"char", Type::kInt8},     {"int8", Type::kInt8},     {"uchar", Type::kUint8},
      {"uint8", Type::kUint8},   {"short", Type::kInt16},   {"int16", Type::kInt16},
      {"ushort", Type::kUint16}, {"uint16", Type::kUint16}, {"int", Type::kInt32},
      {"int32", Type::kInt32},   {"uint", Type::kUint32},   {"uint32", Type::kUint32},
      {"float", Type::kFloat},   {"float32", Type::kFloat}, {"double", Type::kDouble},
      {"float64", Type::kDouble}};
  for (const auto& [known, type] : kNames)
    if (known == name) return type;
  return std::nullopt;
}

std::size_t bytesOf(Type type) {
  switch (type) {
    case Type::kInt8:
    case Type::kUint8:
      return 1;
    case Type::kInt16:
    case Type::kUint16:
      return 2;
    case Type::kDouble:
      return 8;
    default:
      return 4;
  }
}

[[noreturn]] void refuse(const ByteCursor& at, const std::string& what) {
  throw BadInput(at.name() + ": " + what + "; export the mesh again as PLY.");
}

Property parseProperty(ByteCursor& words, const ByteCursor& file) {
  Property property;
  std::string_view type = words.word();
  if (type == "list") {
    property.list_count = typeFromName(words.word());
    if (!property.list_count || *property.list_count >= Type::kFloat)
      refuse(file, "the header has a list whose length is of no whole-number type");
    type = words.word();
  }
  const auto known = typeFromName(type);
  property.name = std::string(words.word());
  if (!known || property.name.empty())
    refuse(file,
           "the header has a property of unknown type '" + std::string(type.substr(0, 20)) + "'");
  property.type = *known;
  return property;
}

Encoding parseEncoding(ByteCursor& words, const ByteCursor& file) {
  const std::string_view encoding = words.word();
  if (encoding == "ascii") return Encoding::kText;
  if (encoding == "binary_little_endian") return Encoding::kLittle;
  if (encoding == "binary_big_endian") return Encoding::kBig;
  refuse(file,
         "the header names the unknown encoding '" + std::string(encoding.substr(0, 20)) + "'");
}

/// An element can't be smaller than this, which shows up a header that promises what isn't there.
std::int64_t smallestBytes(const Element& element, Encoding encoding) {
  std::int64_t bytes = 0;
  for (const Property& p : element.properties)
    bytes += encoding == Encoding::kText
                 ? 2
                 : static_cast<std::int64_t>(bytesOf(p.list_count.value_or(p.type)));
  return std::max<std::int64_t>(bytes, 1);
}

Header parseHeader(ByteCursor& file) {
  Header header;
  bool has_encoding = false;
  if (file.line() != "ply") refuse(file, "this is no PLY file");
  for (;;) {
    if (file.left() == 0) refuse(file, "the header has no end");
    ByteCursor words(file.line(), file.name());
    const std::string_view key = words.word();
    if (key == "end_header") break;
    if (key == "format") {
      header.encoding = parseEncoding(words, file);
      has_encoding = true;
    } else if (key == "element") {
      Element element;
      element.name = std::string(words.word());
      if (!parseNumber(words.word(), element.count) || element.count < 0)
        refuse(file,
               "the header gives no count of its '" + element.name.substr(0, 20) + "' elements");
      header.elements.push_back(element);
    } else if (key == "property") {
      if (header.elements.empty()) refuse(file, "the header has a property before any element");
      header.elements.back().properties.push_back(parseProperty(words, file));
    } else if (key == "comment" && words.word() == kWallComment) {
      double sigma = 0;
      if (parseNumber(words.word(), sigma) && sigma > 0 && sigma < 100)
        header.wall_sigma_mm = sigma;
    }
  }
  if (!has_encoding) refuse(file, "the header names no encoding");
  for (const Element& e : header.elements)
    // The last number of a text file need not be followed by anything, hence the one byte.
    if (e.count > (static_cast<std::int64_t>(file.left()) + 1) / smallestBytes(e, header.encoding))
      throw BadInput(file.name() + ": the header promises " + std::to_string(e.count) + " of '" +
                     e.name.substr(0, 20) + "', but only " + std::to_string(file.left()) +
                     " bytes follow; the file was cut off or is damaged, export it again.");
  return header;
}

double readValue(ByteCursor& file, Type type, Encoding encoding) {
  if (encoding == Encoding::kText) {
    const std::string_view word = file.word();
    double value = 0;
    if (!parseNumber(word, value))
      refuse(file, word.empty()
                       ? "the file ends in the middle of its data"
                       : "'" + std::string(word.substr(0, 20)) + "' stands where a number should");
    return value;
  }
  const bool big = encoding == Encoding::kBig;
  switch (type) {
    case Type::kInt8:
      return file.read<std::int8_t>(big);
    case Type::kUint8:
      return file.read<std::uint8_t>(big);
    case Type::kInt16:
      return file.read<std::int16_t>(big);
    case Type::kUint16:
      return file.read<std::uint16_t>(big);
    case Type::kInt32:
      return file.read<std::int32_t>(big);
    case Type::kUint32:
      return file.read<std::uint32_t>(big);
    case Type::kFloat:
      return file.read<float>(big);
    case Type::kDouble:
      return file.read<double>(big);
  }
  return 0;
}

/// Reads a list into `values` after making sure that the file can hold it.
void readList(ByteCursor& file, const Property& p, Encoding encoding, std::vector<double>& values) {
  const double length = readValue(file, *p.list_count, encoding);
  const double smallest = encoding == Encoding::kText ? 1 : static_cast<double>(bytesOf(p.type));
  if (!(length >= 0) || length * smallest > static_cast<double>(file.left()))
    refuse(file, "a list is longer than the file");
  values.resize(static_cast<std::size_t>(length));
  for (double& v : values) v = readValue(file, p.type, encoding);
}

enum class Slot { kX, kY, kZ, kNx, kNy, kNz, kRed, kGreen, kBlue, kSigma, kGuesswork, kOther };

Slot slotOf(const std::string& name) {
  static constexpr std::array<std::string_view, 11> kNames = {
      "x", "y", "z", "nx", "ny", "nz", "red", "green", "blue", "sigma_mm", "guesswork"};
  for (std::size_t i = 0; i < kNames.size(); ++i)
    if (kNames[i] == name) return static_cast<Slot>(i);
  return Slot::kOther;
}

std::uint8_t colourByte(double value, Type type) {
  if (type >= Type::kFloat) value *= 255;  // Floating-point colours run from 0 to 1.
  if (!(value > 0)) return 0;
  return static_cast<std::uint8_t>(value < 255 ? value + 0.5 : 255);
}

void readVertices(ByteCursor& file, const Element& element, Encoding encoding, TriangleMesh& mesh) {
  std::array<bool, 12> has{};
  std::vector<Slot> slots;
  for (const Property& p : element.properties) {
    slots.push_back(p.list_count ? Slot::kOther : slotOf(p.name));
    has[static_cast<std::size_t>(slots.back())] = true;
  }
  if (!has[0] || !has[1] || !has[2]) refuse(file, "the vertices have no x, y and z");
  const auto count = static_cast<std::size_t>(element.count);
  mesh.vertices_mm.reserve(count);
  std::array<double, 12> values{};
  std::array<Type, 12> types{};
  std::vector<double> ignored;
  for (std::size_t i = 0; i < count; ++i) {
    for (std::size_t k = 0; k < slots.size(); ++k) {
      const Property& p = element.properties[k];
      if (p.list_count) {
        readList(file, p, encoding, ignored);
      } else {
        values[static_cast<std::size_t>(slots[k])] = readValue(file, p.type, encoding);
        types[static_cast<std::size_t>(slots[k])] = p.type;
      }
    }
    mesh.vertices_mm.emplace_back(values[0], values[1], values[2]);
    if (has[3] && has[4] && has[5]) mesh.normals.emplace_back(values[3], values[4], values[5]);
    if (has[6] && has[7] && has[8])
      mesh.colours.push_back({colourByte(values[6], types[6]), colourByte(values[7], types[7]),
                              colourByte(values[8], types[8])});
    if (has[9]) mesh.sigma_mm.push_back(static_cast<float>(values[9]));
    if (has[10]) mesh.guesswork.push_back(values[10] != 0);
  }
}

void readFaces(ByteCursor& file, const Element& element, Encoding encoding, TriangleMesh& mesh,
               const ReadOptions& options) {
  std::vector<double> list;
  for (std::int64_t i = 0; i < element.count; ++i)
    for (const Property& p : element.properties) {
      if (!p.list_count) {
        readValue(file, p.type, encoding);
        continue;
      }
      readList(file, p, encoding, list);
      if (p.name != "vertex_indices" && p.name != "vertex_index") continue;
      for (std::size_t k = 2; k < list.size(); ++k) {
        for (double index : {list[0], list[k - 1], list[k]})
          if (!(index >= 0 && index < 2147483648.0)) refuse(file, "a face names a vertex below 0");
        addTriangle(mesh, static_cast<long long>(list[0]), static_cast<long long>(list[k - 1]),
                    static_cast<long long>(list[k]), file.name(), options);
      }
    }
}

void skipElement(ByteCursor& file, const Element& element, Encoding encoding) {
  std::vector<double> ignored;
  if (element.properties.empty()) return;
  for (std::int64_t i = 0; i < element.count; ++i)
    for (const Property& p : element.properties) {
      if (p.list_count)
        readList(file, p, encoding, ignored);
      else
        readValue(file, p.type, encoding);
    }
}

}  // namespace

TriangleMesh parsePly(std::string_view bytes, const std::string& name, const ReadOptions& options) {
  ByteCursor file(bytes, name);
  const Header header = parseHeader(file);
  TriangleMesh mesh;
  mesh.wall_sigma_mm = header.wall_sigma_mm;
  for (const Element& element : header.elements) {
    if (element.name == "vertex")
      readVertices(file, element, header.encoding, mesh);
    else if (element.name == "face")
      readFaces(file, element, header.encoding, mesh, options);
    else
      skipElement(file, element, header.encoding);
  }
  return mesh;
}

std::string plyBytes(const TriangleMesh& mesh) {
  const bool colours = !mesh.colours.empty(), sigma = !mesh.sigma_mm.empty(),
             guesswork = !mesh.guesswork.empty();
  const std::vector<Eigen::Vector3d> normals =
      mesh.normals.empty() ? vertexNormals(mesh) : mesh.normals;
  std::string bytes = "ply\nformat binary_little_endian 1.0\ncomment millimetres\n";
  if (mesh.wall_sigma_mm > 0)
    bytes +=
        "comment " + std::string(kWallComment) + " " + std::to_string(mesh.wall_sigma_mm) + "\n";
  bytes += "element vertex " + std::to_string(mesh.vertices_mm.size()) +
           "\nproperty float x\nproperty float y\nproperty float z\n"
           "property float nx\nproperty float ny\nproperty float nz\n";
  if (colours) bytes += "property uchar red\nproperty uchar green\nproperty uchar blue\n";
  if (sigma) bytes += "property float sigma_mm\n";
  if (guesswork) bytes += "property uchar guesswork\n";
  bytes += "element face " + std::to_string(mesh.triangles.size()) +
           "\nproperty list uchar int vertex_indices\nend_header\n";
  bytes.reserve(bytes.size() + mesh.vertices_mm.size() * 32 + mesh.triangles.size() * 13);
  for (std::size_t i = 0; i < mesh.vertices_mm.size(); ++i) {
    for (int k = 0; k < 3; ++k)
      appendLittleEndian(bytes, static_cast<float>(mesh.vertices_mm[i][k]));
    for (int k = 0; k < 3; ++k) appendLittleEndian(bytes, static_cast<float>(normals[i][k]));
    if (colours)
      for (std::uint8_t c : mesh.colours[i]) appendLittleEndian(bytes, c);
    if (sigma) appendLittleEndian(bytes, mesh.sigma_mm[i]);
    if (guesswork) appendLittleEndian(bytes, mesh.guesswork[i]);
  }
  for (const Eigen::Vector3i& t : mesh.triangles) {
    appendLittleEndian(bytes, std::uint8_t{3});
    for (int k = 0; k < 3; ++k) appendLittleEndian(bytes, static_cast<std::int32_t>(t[k]));
  }
  return bytes;
}

}  // namespace holdshelf
