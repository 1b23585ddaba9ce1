// SPDX-License-Identifier: Apache-2.0
// The data of PLY files, and files written; what comes before the data: ply_header.h.
#include <array>
#include <vector>

#include "mesh/byte_cursor.h"
#include "mesh/mesh_formats.h"
#include "mesh/ply_header.h"

namespace holdshelf {
namespace {

double readValue(ByteCursor& file, PlyType type, PlyEncoding encoding) {
  if (encoding == PlyEncoding::kText) {
    const std::string_view word = file.word();
    double value = 0;
    if (!parseNumber(word, value))
      refusePly(file, word.empty() ? "the file ends in the middle of its data"
                                   : "'" + std::string(word.substr(0, 20)) +
                                         "' stands where a number should");
    return value;
  }
  const bool big = encoding == PlyEncoding::kBig;
  switch (type) {
    case PlyType::kInt8:
      return file.read<std::int8_t>(big);
    case PlyType::kUint8:
      return file.read<std::uint8_t>(big);
    case PlyType::kInt16:
      return file.read<std::int16_t>(big);
    case PlyType::kUint16:
      return file.read<std::uint16_t>(big);
    case PlyType::kInt32:
      return file.read<std::int32_t>(big);
    case PlyType::kUint32:
      return file.read<std::uint32_t>(big);
    case PlyType::kFloat:
      return file.read<float>(big);
    case PlyType::kDouble:
      return file.read<double>(big);
  }
  return 0;
}

/// Reads a list into `values` after making sure that the file can hold it.
void readList(ByteCursor& file, const PlyProperty& p, PlyEncoding encoding,
              std::vector<double>& values) {
  const double length = readValue(file, *p.list_count, encoding);
  const double smallest =
      encoding == PlyEncoding::kText ? 1 : static_cast<double>(plyBytesOf(p.type));
  if (!(length >= 0) || length * smallest > static_cast<double>(file.left()))
    refusePly(file, "a list is longer than the file");
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

std::uint8_t colourByte(double value, PlyType type) {
  if (type >= PlyType::kFloat) value *= 255;  // Floating-point colours run from 0 to 1.
  if (!(value > 0)) return 0;
  return static_cast<std::uint8_t>(value < 255 ? value + 0.5 : 255);
}

void readVertices(ByteCursor& file, const PlyElement& element, PlyEncoding encoding,
                  TriangleMesh& mesh) {
  std::array<bool, 12> has{};
  std::vector<Slot> slots;
  for (const PlyProperty& p : element.properties) {
    slots.push_back(p.list_count ? Slot::kOther : slotOf(p.name));
    has[static_cast<std::size_t>(slots.back())] = true;
  }
  if (!has[0] || !has[1] || !has[2]) refusePly(file, "the vertices have no x, y and z");
  const auto count = static_cast<std::size_t>(element.count);
  mesh.vertices_mm.reserve(count);
  std::array<double, 12> values{};
  std::array<PlyType, 12> types{};
  std::vector<double> ignored;
  for (std::size_t i = 0; i < count; ++i) {
    for (std::size_t k = 0; k < slots.size(); ++k) {
      const PlyProperty& p = element.properties[k];
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

void readFaces(ByteCursor& file, const PlyElement& element, PlyEncoding encoding,
               TriangleMesh& mesh, const ReadOptions& options) {
  if (element.properties.empty()) return;  // Nothing to read, however many there are.
  std::vector<double> list;
  for (std::int64_t i = 0; i < element.count; ++i)
    for (const PlyProperty& p : element.properties) {
      if (!p.list_count) {
        readValue(file, p.type, encoding);
        continue;
      }
      readList(file, p, encoding, list);
      if (p.name != "vertex_indices" && p.name != "vertex_index") continue;
      for (std::size_t k = 2; k < list.size(); ++k) {
        for (double index : {list[0], list[k - 1], list[k]})
          if (!(index >= 0 && index < 2147483648.0))
            refusePly(file, "a face names a vertex below 0");
        addTriangle(mesh, static_cast<long long>(list[0]), static_cast<long long>(list[k - 1]),
                    static_cast<long long>(list[k]), file.name(), options);
      }
    }
}

void skipElement(ByteCursor& file, const PlyElement& element, PlyEncoding encoding) {
  std::vector<double> ignored;
  if (element.properties.empty()) return;
  for (std::int64_t i = 0; i < element.count; ++i)
    for (const PlyProperty& p : element.properties) {
      if (p.list_count)
        readList(file, p, encoding, ignored);
      else
        readValue(file, p.type, encoding);
    }
}

}  // namespace

TriangleMesh parsePly(std::string_view bytes, const std::string& name, const ReadOptions& options) {
  ByteCursor file(bytes, name);
  const PlyHeader header = parsePlyHeader(file);
  TriangleMesh mesh;
  mesh.wall_sigma_mm = header.wall_sigma_mm;
  for (const PlyElement& element : header.elements) {
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
        "comment " + std::string(kPlyWallComment) + " " + std::to_string(mesh.wall_sigma_mm) + "\n";
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
