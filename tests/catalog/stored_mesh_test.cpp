// SPDX-License-Identifier: Apache-2.0
#include "catalog/stored_mesh.h"

#include <doctest/doctest.h>

#include <cmath>

#include "mesh/bad_input.h"
#include "mesh/mesh_io.h"
#include "tests/shapes/plain_meshes.h"

using namespace holdshelf;

namespace {

/// A face of so many corners, a byte each: 0, 1, 2, 1, 2 and so on.
std::string wrappedFace(std::size_t corners) {
  std::string bytes =
      "ply\nformat binary_little_endian 1.0\nelement vertex 3\nproperty uchar x\n"
      "property uchar y\nproperty uchar z\nelement face 1\n"
      "property list uint uchar vertex_indices\nend_header\n";
  bytes += std::string("\0\0\0\x50\0\0\0\x50\0", 9);
  for (int shift = 0; shift < 32; shift += 8) bytes += static_cast<char>(corners >> shift & 0xff);
  for (std::size_t i = 0; i < corners; ++i) bytes += static_cast<char>(i == 0 ? 0 : 1 + i % 2);
  return bytes;
}

}  // namespace

TEST_CASE("storedMesh: what intake stored is what is read") {
  const TriangleMesh mesh = latitudeSphere({0, 0, 20}, 20, 20);
  const std::string ply = plyBytes(mesh);
  CHECK(storedMesh(ply, "a.ply").triangles == mesh.triangles);
  CHECK(plyBytes(storedMesh(ply, "a.ply")) == plyBytes(parseMesh(ply, "a.ply")));
}

TEST_CASE("storedMesh: a face that goes round and round is one triangle, not a million") {
  const std::string face = wrappedFace(1'000'000);
  REQUIRE(parseMesh(face, "a.ply").triangles.size() == 999'998);
  CHECK(storedMesh(face, "a.ply").triangles.size() == 1);
  CHECK_THROWS_AS(storedMesh("no mesh", "a.ply"), BadInput);
}

TEST_CASE("storedMesh: an uncertainty that is none, as a library may have it, is a large one") {
  TriangleMesh mesh = latitudeSphere({0, 0, 20}, 20, 20);
  mesh.sigma_mm.assign(mesh.vertices_mm.size(), 0.05F);
  mesh.sigma_mm[3] = std::nanf("");
  const std::string ply = plyBytes(mesh);
  REQUIRE_THROWS_AS(parseMesh(ply, "a.ply"), BadInput);
  const TriangleMesh stored = storedMesh(ply, "a.ply");
  CHECK(stored.sigma_mm[3] == 100);
  CHECK(stored.sigma_mm[4] == 0.05F);
}
