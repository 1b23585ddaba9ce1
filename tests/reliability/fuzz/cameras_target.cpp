// SPDX-License-Identifier: Apache-2.0
#include "capture/cameras_file.h"
#include "tests/reliability/fuzz/target.h"

using namespace holdshelf;

namespace {

const test::FuzzTarget target(
    "cameras", [](const std::string& bytes) { (void)parseCameras(bytes, "cameras.txt", 1); },
    [] {
      return std::vector<std::string>{
          "1\na.jpg 900 0 320 0 900 240 0 0 1 1 0 0 0 1 0 0 0 1 10 20 300\n",
          "2\na.jpg 900 0 320 0 900 240 0 0 1 0.6 0 0.8 0 1 0 -0.8 0 0.6 -1e1 2.5e-3 .3\n"
          "b.jpg 900 0 320 0 900 240 0 0 1 -1 0 0 0 -1 0 0 0 1 0 0 300\n"};
    });

}  // namespace
