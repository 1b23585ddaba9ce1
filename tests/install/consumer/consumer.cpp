// SPDX-License-Identifier: Apache-2.0
// consumer MESH: how far a hold stands out from the wall, in mm.
#include <cstdio>

#include "mesh/measure_shape.h"
#include "mesh/mesh_io.h"

int main(int argc, char** argv) {
  if (argc != 2) return 2;
  try {
    const holdshelf::Shape shape = holdshelf::measureShape(holdshelf::readMesh(argv[1]));
    std::printf("%.2f\n", shape.protrusion_mm().value());
    return 0;
  } catch (const std::exception& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 1;
  }
}
