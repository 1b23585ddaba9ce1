// SPDX-License-Identifier: Apache-2.0
#include "mesh/mesh_io.h"

#include <cmath>
#include <system_error>

#include "mesh/mesh_formats.h"
#include "mesh/whole_file.h"

namespace holdshelf {
namespace {

// Farther from the origin than this nothing can be a hold in any unit, and squares lose digits.
constexpr double kFarthest_mm = 1e9;
constexpr float kLargestSigma_mm = 100;

std::string lowerExtension(const std::string& name) {
  std::string extension = std::filesystem::path(name).extension().string();
  for (char& c : extension)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return extension;
}

bool startsLike(std::string_view bytes, std::string_view magic) {
  return bytes.substr(0, magic.size()) == magic;
}

TriangleMesh parseByContent(std::string_view bytes, const std::string& name,
                            const ReadOptions& options) {
  const std::string extension = lowerExtension(name);
  if (bytes.empty()) throw BadInput(name + " is empty; export the mesh again.");
  if (startsLike(bytes, "ply\n") || startsLike(bytes, "ply\r\n"))
    return parsePly(bytes, name, options);
  if (startsLike(bytes, "glTF")) return parseGlb(bytes, name, options);
  if (isBinaryStl(bytes) || extension == ".stl" || startsLike(bytes, "solid "))
    return parseStl(bytes, name, options);
  if (extension == ".obj") return parseObj(bytes, name, options);
  if (extension == ".ply") return parsePly(bytes, name, options);
  if (extension == ".glb") return parseGlb(bytes, name, options);
  if (extension == ".gltf")
    throw BadInput(name +
                   " is a glTF text file whose data lie beside it; save it as one .glb file.");
  throw BadInput(name + " is no mesh this program reads; give a PLY, STL, OBJ or GLB file.");
}

void checkVertices(const TriangleMesh& mesh, const std::string& name) {
  for (std::size_t i = 0; i < mesh.vertices_mm.size(); ++i)
    if (!(mesh.vertices_mm[i].array().abs() < kFarthest_mm).all())
      throw BadInput(name + ": vertex " + std::to_string(i) +
                     " has a coordinate that is no number or beyond any hold (1000 km); repair the "
                     "mesh where it was made.");
}

/// Bounded as the wall's own uncertainty is; a scan's lies below 1 mm. One that is no number would
/// stand in the library as one, and no answer that rests on it could say that it is unsure.
void checkSigmas(TriangleMesh& mesh, const std::string& name, bool any) {
  for (std::size_t i = 0; i < mesh.sigma_mm.size(); ++i) {
    if (mesh.sigma_mm[i] >= 0 && mesh.sigma_mm[i] <= kLargestSigma_mm) continue;
    if (any)
      mesh.sigma_mm[i] = kLargestSigma_mm;
    else
      throw BadInput(name + ": vertex " + std::to_string(i) +
                     " has an uncertainty (sigma_mm) that is no number from 0 to 100 mm; export "
                     "the mesh again without it.");
  }
}

void checkTriangles(const TriangleMesh& mesh, const std::string& name) {
  if (mesh.triangles.empty())
    throw BadInput(name + " holds no triangles; export the hold's surface, not only its points.");
  const int count = static_cast<int>(mesh.vertices_mm.size());
  for (const Eigen::Vector3i& t : mesh.triangles)
    if (t.minCoeff() < 0 || t.maxCoeff() >= count)
      throw BadInput(name + ": a face names vertex " +
                     std::to_string(t.minCoeff() < 0 ? t.minCoeff() : t.maxCoeff()) + " of " +
                     std::to_string(count) + "; the file is damaged, export it again.");
}

/// An attribute that not every vertex has is no attribute.
template <typename T>
void keepIfComplete(std::vector<T>& attribute, std::size_t vertices) {
  if (attribute.size() != vertices) attribute.clear();
}

}  // namespace

void addTriangle(TriangleMesh& mesh, long long a, long long b, long long c, const std::string& name,
                 const ReadOptions& options) {
  if (static_cast<std::int64_t>(mesh.triangles.size()) >= options.max_triangles)
    throw BadInput(name + " has more than " + std::to_string(options.max_triangles) +
                   " triangles; thin it out first.");
  const auto index = [](long long i) {
    return i < 0 || i > 0x7fffffff ? -1 : static_cast<int>(i);  // -1 is refused with the rest.
  };
  mesh.triangles.emplace_back(index(a), index(b), index(c));
}

TriangleMesh parseMesh(std::string_view bytes, const std::string& name,
                       const ReadOptions& options) {
  if (!(options.unit_mm >= 0) || !std::isfinite(options.unit_mm))
    throw BadInput("The length of a unit must be a positive number of millimetres.");
  TriangleMesh mesh = parseByContent(bytes, name, options);
  const double of_format = startsLike(bytes, "glTF") ? 1000.0 : 1.0;
  const double unit_mm = options.unit_mm > 0 ? options.unit_mm : of_format;
  if (unit_mm != 1)
    for (Eigen::Vector3d& v : mesh.vertices_mm) v *= unit_mm;
  checkVertices(mesh, name);
  checkSigmas(mesh, name, options.any_sigma);
  checkTriangles(mesh, name);
  keepIfComplete(mesh.normals, mesh.vertices_mm.size());
  keepIfComplete(mesh.colours, mesh.vertices_mm.size());
  keepIfComplete(mesh.sigma_mm, mesh.vertices_mm.size());
  keepIfComplete(mesh.guesswork, mesh.vertices_mm.size());
  return mesh;
}

TriangleMesh readMesh(const std::filesystem::path& path, const ReadOptions& options) {
  const std::string name = path.string();
  std::error_code error;
  if (!std::filesystem::exists(path, error))
    throw BadInput(name + " does not exist; check the path.");
  if (!std::filesystem::is_regular_file(path, error))
    throw BadInput(name + " is not a file; give a PLY, STL, OBJ or GLB file.");
  return parseMesh(readFile(path), name, options);
}

void writePly(const std::filesystem::path& path, const TriangleMesh& mesh) {
  writeWhole(path, plyBytes(mesh));
}
void writeGlb(const std::filesystem::path& path, const TriangleMesh& mesh) {
  writeWhole(path, glbBytes(mesh));
}
void writeStl(const std::filesystem::path& path, const TriangleMesh& mesh) {
  writeWhole(path, stlBytes(mesh));
}

}  // namespace holdshelf
