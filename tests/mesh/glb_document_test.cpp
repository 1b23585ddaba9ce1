// SPDX-License-Identifier: Apache-2.0
#include "mesh/glb_document.h"

#include <doctest/doctest.h>

#include "mesh/bad_input.h"
#include "mesh/glb_parts.h"
#include "tests/complaint.h"

using namespace holdshelf;

namespace {

/// A file with four floats, described by one accessor with these members.
std::string fileWith(const std::string& accessor, const std::string& view = "\"byteOffset\":0") {
  return glbFile("{\"bufferViews\":[{" + view + "}],\"accessors\":[{" + accessor + "}]}",
                 std::string(16, '\0'));
}

std::string complaint(const std::string& file, std::int64_t index = 0) {
  return test::complaintOf([&] { parseGlbDocument(file, "a.glb").accessor(index); });
}

}  // namespace

TEST_CASE("GlbDocument: an accessor reaches no further than the binary chunk") {
  const std::string floats =
      "\"bufferView\":0,\"componentType\":5126,\"type\":\"SCALAR\",\"count\":";
  CHECK(complaint(fileWith(floats + "4")).empty());
  CHECK(complaint(fileWith(floats + "0")).empty());
  CHECK(complaint(fileWith(floats + "5")).find("promises 5") != std::string::npos);
  CHECK(complaint(fileWith(floats + "2", "\"byteStride\":12")).empty());
  CHECK(complaint(fileWith(floats + "3", "\"byteStride\":12")) != "");
  CHECK(complaint(fileWith(floats + "1", "\"byteOffset\":13")) != "");
  CHECK(complaint(fileWith(floats + "9e14", "\"byteStride\":9e14")) != "");
}

TEST_CASE("GlbDocument: what is not in the standard, or not read, is refused with a sentence") {
  const std::string of_type = "\"bufferView\":0,\"count\":1,\"componentType\":";
  CHECK(complaint(fileWith(of_type + "5124,\"type\":\"SCALAR\"")).find("not in the standard") !=
        std::string::npos);
  CHECK(complaint(fileWith(of_type + "5126,\"type\":\"VEC5\"")).find("not in the standard") !=
        std::string::npos);
  CHECK(
      complaint(fileWith(of_type + "5126,\"type\":\"VEC2\"", "\"byteStride\":4")).find("overlap") !=
      std::string::npos);
  CHECK(complaint(fileWith(of_type + "5126,\"type\":\"SCALAR\",\"sparse\":{}")).find("sparse") !=
        std::string::npos);
  CHECK(complaint(fileWith(of_type + "5126,\"type\":\"SCALAR\"", "\"buffer\":1"))
            .find("another file") != std::string::npos);
  CHECK(complaint(fileWith(of_type + "5126,\"type\":\"SCALAR\""), 1).find("lacks") !=
        std::string::npos);
  CHECK(complaint(fileWith("\"count\":1.5")).find("'count' is no whole number") !=
        std::string::npos);
  CHECK(complaint(glbFile("{\"extensionsRequired\":[\"KHR_draco_mesh_compression\"]}", ""))
            .find("KHR_draco_mesh_compression") != std::string::npos);
  CHECK(complaint(glbFile("{", "")).find("no valid JSON") != std::string::npos);
}
