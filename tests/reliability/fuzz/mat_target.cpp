// SPDX-License-Identifier: Apache-2.0
#include "capture/mat_file.h"
#include "tests/reliability/fuzz/filled_message.h"
#include "tests/reliability/fuzz/target.h"

using namespace holdshelf;

namespace {

/// Two markers of the demo's mat: the whole file is long for a fuzzer.
std::vector<std::string> seeds() {
  Mat mat = parseMat(test::testdataFile("demo/ledge/mat.json"), "mat.json");
  std::string small = "{\"dictionary\": \"" + mat.dictionary() + "\", \"markers\": [";
  for (int i = 0; i < 2; ++i) {
    small += std::string(i > 0 ? "," : "") + "{\"id\": " + std::to_string(mat.markers(i).id()) +
             ", \"corners\": [";
    for (int k = 0; k < mat.markers(i).corners_size(); ++k)
      small += std::string(k > 0 ? "," : "") +
               "{\"x\": " + std::to_string(mat.markers(i).corners(k).x()) +
               ", \"y\": " + std::to_string(mat.markers(i).corners(k).y()) + "}";
    small += "]}";
  }
  return {small + "]}", test::testdataFile("demo/ledge/mat.json")};
}

const test::FuzzTarget target(
    "mat",
    [](const std::string& bytes) { (void)matCorners_M_mm(parseMat(bytes, "mat.json"), 1.0); },
    seeds, [] { return std::vector<std::string>{test::filledJson(*Mat::descriptor())}; });

}  // namespace
