// SPDX-License-Identifier: Apache-2.0
#include <utility>

#include "mesh/byte_cursor.h"
#include "mesh/glb_parts.h"
#include "mesh/mesh_io.h"
#include "tests/reliability/fuzz/target.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;

namespace {

std::vector<std::string> seeds() {
  const ExactHold solid = domeHold(30, 20);
  return {glbBytes(meshSdf(solid.solid, solid.box_mm, 20))};
}

/// What our own files never have: nodes in nodes with each kind of place, strips and fans, every
/// kind of number, an extension (glTF 2.0, 3.5.2, 3.6.2, 3.7.2, 3.12).
std::vector<std::string> roughSeeds() {
  const std::string mesh_of =
      R"({"primitives":[{"mode":MODE,"attributes":{"POSITION":0,"COLOR_0":1},)"
      R"("indices":INDICES}]})";
  std::string meshes;
  for (const auto& [mode, indices] : {std::pair{"4", "2"}, {"5", "3"}, {"6", "4"}, {"0", "2"}}) {
    std::string one = mesh_of;
    one.replace(one.find("MODE"), 4, mode).replace(one.find("INDICES"), 7, indices);
    meshes += (meshes.empty() ? "" : ",") + one;
  }
  const std::string json =
      R"({"asset":{"version":"2.0"},"extensionsUsed":["KHR_texture_transform"],)"
      R"("extensionsRequired":["KHR_materials_unlit"],"scene":1,"scenes":[{},{"nodes":[0,4]}],)"
      R"("nodes":[{"children":[1,2],"matrix":[-1,0,0,0,0,1,0,0,0,0,1,0,1,2,3,1]},)"
      R"({"mesh":0,"translation":[1,0,0],"rotation":[0,0.6,0,0.8],"scale":[1,-2,1]},)"
      R"({"mesh":1,"children":[3]},{"mesh":2},{"mesh":3}],"meshes":[)" +
      meshes +
      R"(],"buffers":[{"byteLength":108}],"bufferViews":[{"buffer":0,"byteLength":64,"byteStride":16},)"
      R"({"buffer":0,"byteOffset":12,"byteStride":16},{"buffer":0,"byteOffset":64,"byteLength":44}],)"
      R"("accessors":[{"bufferView":0,"componentType":5126,"count":4,"type":"VEC3"},)"
      R"({"bufferView":1,"componentType":5121,"normalized":true,"count":4,"type":"VEC4"},)"
      R"({"bufferView":2,"componentType":5121,"count":6,"type":"SCALAR"},)"
      R"({"bufferView":2,"byteOffset":8,"componentType":5123,"count":4,"type":"SCALAR"},)"
      R"({"bufferView":2,"byteOffset":16,"componentType":5125,"count":4,"type":"SCALAR"}]})";
  std::string bin;
  for (int i = 0; i < 4; ++i) {  // A corner and its colour.
    for (const float x : {static_cast<float>(i % 2), static_cast<float>(i / 2), 0.0F})
      appendLittleEndian(bin, x);
    bin += std::string("\x10\x80\xff\x7f", 4);
  }
  bin += std::string("\0\1\2\1\3\2\0\0", 8);
  for (const std::uint16_t i : {0, 1, 2, 3}) appendLittleEndian(bin, i);
  for (const std::uint32_t i : {0U, 1U, 3U, 2U}) appendLittleEndian(bin, i);
  return {glbFile(json, bin)};
}

const test::FuzzTarget target(
    "glb", [](const std::string& bytes) { (void)parseMesh(bytes, "hold.glb"); }, seeds, roughSeeds);

}  // namespace
