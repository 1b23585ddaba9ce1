// SPDX-License-Identifier: Apache-2.0
#include "mesh/ply_header.h"

#include <doctest/doctest.h>

#include <string>

#include "mesh/bad_input.h"
#include "tests/complaint.h"

using namespace holdshelf;

namespace {

const std::string kVertex = "element vertex 2\nproperty float x\nproperty uchar red\n";

std::string complaint(const std::string& bytes) {
  ByteCursor file(bytes, "a.ply");
  return test::complaintOf([&] { parsePlyHeader(file); });
}

std::string header(const std::string& lines, const std::string& data = "1234567890") {
  return "ply\nformat binary_little_endian 1.0\n" + lines + "end_header\n" + data;
}

}  // namespace

TEST_CASE("parsePlyHeader: elements with their properties in the file's order, then the data") {
  ByteCursor file(
      "ply\r\nformat ascii 1.0\r\ncomment wall_sigma_mm 0.125\r\nobj_info none\r\nelement face "
      "1\r\n"
      "property list uint8 int32 vertex_indices\r\nelement vertex 2\r\nproperty float64 x\r\n"
      "end_header\r\n3 0 1 2",
      "a.ply");
  const PlyHeader read = parsePlyHeader(file);
  CHECK(read.encoding == PlyEncoding::kText);
  CHECK(read.wall_sigma_mm == 0.125);
  REQUIRE(read.elements.size() == 2);
  CHECK(read.elements[0].name == "face");
  CHECK(read.elements[0].properties.at(0).list_count == PlyType::kUint8);
  CHECK(read.elements[0].properties.at(0).type == PlyType::kInt32);
  CHECK(read.elements[1].count == 2);
  CHECK(read.elements[1].properties.at(0).type == PlyType::kDouble);
  CHECK(file.left() == 7);
}

TEST_CASE("parsePlyHeader: no more is promised than the file can hold") {
  CHECK(complaint(header(kVertex)).empty());  // 2 x 5 bytes in 10.
  CHECK(complaint(header(kVertex, "12345678")).find("only 8 bytes follow") != std::string::npos);
  CHECK(complaint(header("element vertex 4000000000000\nproperty double x\n")) != "");
}

TEST_CASE("parsePlyHeader: no endless list of elements or properties") {
  const auto repeated = [](const std::string& line, int times) {
    std::string lines;
    for (int i = 0; i < times; ++i) lines += line;
    return lines;
  };
  CHECK(complaint(header(repeated("element face 5\n", 100))).empty());
  CHECK(complaint(header(repeated("element face 5\n", 101))).find("more than 100 kinds") !=
        std::string::npos);
  const std::string property = "property list uchar int i\n";
  CHECK(complaint(header("element face 0\n" + repeated(property, 1000))).empty());
  CHECK(complaint(header("element face 0\n" + repeated(property, 1001)))
            .find("more than 1000 properties") != std::string::npos);
}

TEST_CASE("parsePlyHeader: each fault has its sentence") {
  CHECK(complaint("plx\n").find("no PLY file") != std::string::npos);
  CHECK(complaint("ply\nend_header\n").find("no encoding") != std::string::npos);
  CHECK(complaint("ply\nformat middle_endian 1.0\n").find("'middle_endian'") != std::string::npos);
  CHECK(complaint("ply\nformat ascii 1.0\n").find("no end") != std::string::npos);
  CHECK(complaint(header("property float x\n")).find("before any element") != std::string::npos);
  CHECK(complaint(header("element vertex -1\n")).find("no count") != std::string::npos);
  CHECK(complaint(header("element vertex 1\nproperty long x\n")).find("'long'") !=
        std::string::npos);
  CHECK(complaint(header("element face 1\nproperty list float int i\n")).find("no whole-number") !=
        std::string::npos);
}
