// SPDX-License-Identifier: Apache-2.0
#include "mesh/view_glb.h"

#include <doctest/doctest.h>

#include <cstring>
#include <vector>

#include "tests/shapes/plain_meshes.h"

using namespace holdshelf;

TEST_CASE("viewGlb: header, lengths and values as glTF 2.0 asks") {  // Khronos, glTF 2.0, 4.4.
  const TriangleMesh light = latitudeSphere({0, 0, 5}, 30, 14);
  const std::vector<float> values(light.vertices_mm.size(), -0.5F);
  const std::string plain = viewGlb(light), glb = viewGlb(light, values);
  const auto word = [&](std::size_t at) {
    std::uint32_t value = 0;
    std::memcpy(&value, glb.data() + at, 4);
    return value;
  };
  CHECK(glb.substr(0, 4) == "glTF");
  CHECK(word(4) == 2);
  CHECK(word(8) == glb.size());
  CHECK(word(16) == 0x4E4F534A);
  CHECK(word(12) % 4 == 0);
  CHECK(word(20 + word(12) + 4) == 0x004E4942);
  CHECK(glb.find("\"_VALUE\"") != std::string::npos);
  CHECK(plain.find("\"_VALUE\"") == std::string::npos);
  CHECK(glb.size() - plain.size() >= 4 * values.size());
}
