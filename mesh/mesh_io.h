// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>

#include "mesh/bad_input.h"
#include "mesh/triangle_mesh.h"

namespace holdshelf {

struct ReadOptions {
  /// Millimetres a unit of the file. 0: what the format says, which is metres for GLB (glTF 2.0,
  /// 3.1) and nothing for the others: those are taken as millimetres (see unit_check.h).
  double unit_mm = 0;
  /// More triangles than this are refused, so that a small file that repeats one part many times
  /// cannot fill the memory.
  std::int64_t max_triangles = 20'000'000;
  /// Takes a sigma_mm that is no number from 0 to 100 mm for 100, hardly known, where it is refused
  /// otherwise: what is in a library already, nobody can export again.
  bool any_sigma = false;
};

/// Reads a mesh: PLY (text, binary of either byte order), STL (text, binary; equal corners are
/// merged), OBJ, GLB (glTF 2.0 binary with its nodes' transforms). The content decides the format,
/// the name only where the content can't. Polygons are split into fans.
///
/// Keeps normals, colours (sRGB) and, from PLY, the properties `sigma_mm` and `guesswork`.
/// Memory is bounded by what the file truly holds, whatever its header says, but not by a small
/// multiple of it: a polygon's corner of one byte (PLY) or two (OBJ) becomes a triangle of 12 bytes
/// and, while it is read, a number of 8, and a GLB may show one part many times. `max_triangles`
/// bounds the whole: some 2 GB at its default. Triangles may be repeated: see repair.h.
/// The frame is the file's: see hold_frame.h for bringing a mesh into the hold frame.
///
/// @throws BadInput  The file is missing, unreadable, cut off, no mesh, without triangles, has a
///                   NaN or an infinity for a coordinate, a sigma_mm outside 0 to 100, or names a
///                   vertex that it doesn't have.
TriangleMesh readMesh(const std::filesystem::path& path, const ReadOptions& options = {});

/// The same from bytes in memory; `name` stands in the sentences and may give the format away.
TriangleMesh parseMesh(std::string_view bytes, const std::string& name,
                       const ReadOptions& options = {});

/// Binary little-endian PLY in mm: float positions, then whichever attributes the mesh has, normals
/// always (computed when absent). Vertices are rounded to float: below 0.02 um for a hold.
std::string plyBytes(const TriangleMesh& mesh);

/// glTF 2.0 binary for viewers: metres, right-handed, +Y up, front towards +Z, as the standard
/// demands (3.4). That is the hold frame as it stands (y up on the wall, z towards the climber), so
/// no axis is turned. Vertex colours become linear light there (3.7.2.1), in 16 bit.
std::string glbBytes(const TriangleMesh& mesh);

/// Binary STL in mm.
std::string stlBytes(const TriangleMesh& mesh);

/// Writes the bytes above to a file, whole or not at all (a neighbouring temporary is renamed).
/// @throws BadInput  The folder doesn't exist or can't be written.
void writePly(const std::filesystem::path& path, const TriangleMesh& mesh);
void writeGlb(const std::filesystem::path& path, const TriangleMesh& mesh);
void writeStl(const std::filesystem::path& path, const TriangleMesh& mesh);

}  // namespace holdshelf
