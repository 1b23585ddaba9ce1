// SPDX-License-Identifier: Apache-2.0
#include "mesh/mesh_io.h"
#include "tests/reliability/fuzz/target.h"

using namespace holdshelf;

namespace {

std::vector<std::string> seeds() {
  return {
      "v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1/1/1 2//2 3\n",
      "# corner\nv 0 0 0 1 0 0\nv 1 0 0 1 0 0\nv 0 1 0 1 0 0\nv 1 1 0\nvn 0 0 1\ng a\nf -4 -3 "
      "-1 -2\n",
      "mtllib a.mtl\r\no hold\r\nv 1e1 -.5 +2 1.0\r\nv 1 0 0\r\nv 0 1 0\r\nv 0 1 1\r\nv 0 0 1\r\n"
      "vt 0 1\r\nvn 0 0 1\r\ns off\r\nusemtl red\r\nf 1/1/1 2/1/1 3/1/1 4/1/1 5/1/1\r\nf 1 2 "
      "3\r\n"};
}

const test::FuzzTarget target(
    "obj", [](const std::string& bytes) { (void)parseMesh(bytes, "hold.obj"); }, seeds);

}  // namespace
