// SPDX-License-Identifier: Apache-2.0
#include "mesh/mesh_io.h"

#include <doctest/doctest.h>
#include <sys/resource.h>

#include <Eigen/Geometry>
#include <cmath>
#include <fstream>
#include <functional>
#include <limits>

#include "mesh/byte_cursor.h"
#include "tests/complaint.h"
#include "tests/shapes/plain_meshes.h"

using namespace holdshelf;

namespace {

/// A tetrahedron with legs of 5, 4 and 3 mm: volume 10 mm3.
TriangleMesh tetrahedron() {
  TriangleMesh mesh = rightTetrahedron({5, 4, 3});
  mesh.colours = {{255, 0, 0}, {0, 255, 0}, {10, 20, 30}, {200, 201, 202}};
  mesh.sigma_mm = {0.05f, 0.1f, 0.2f, 0.4f};
  mesh.guesswork = {0, 1, 0, 1};
  mesh.wall_sigma_mm = 0.0625;
  return mesh;
}

double signedVolume(const TriangleMesh& mesh) {
  double six = 0;
  for (const auto& t : mesh.triangles)
    six += mesh.vertices_mm[t[0]].dot(mesh.vertices_mm[t[1]].cross(mesh.vertices_mm[t[2]]));
  return six / 6;
}

std::string complaint(const std::string& bytes, const std::string& name) {
  return test::complaintOf([&] { parseMesh(bytes, name); });
}

long peakMemory_kB() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return usage.ru_maxrss;
}

const char* const kPlyText =
    "ply\nformat ascii 1.0\ncomment made by hand\nelement face 2\n"
    "property uchar flags\nproperty list uchar int vertex_indices\nelement vertex 5\n"
    "property double z\nproperty uchar blue\nproperty float x\nproperty uchar green\n"
    "property list uchar short extra\nproperty float y\nproperty uchar red\nend_header\n"
    "7 4 0 1 2 3\n7 3 0 1 4\n"
    "0 3 1 2 2 9 9 1.5 1\n0 3 2 2 0 1.5 1\n0 3 2 2 0 4 1\n0 3 1 2 0 4 1\n9 3 1 2 1 0 4 1\n";

/// The same file with one triangle, binary, in either byte order.
std::string binaryPly(bool big) {
  std::string bytes = std::string("ply\nformat binary_") + (big ? "big" : "little") +
                      "_endian 1.0\nelement vertex 3\nproperty float x\nproperty double y\n"
                      "property short z\nelement face 1\nproperty list ushort uint vertex_index\n"
                      "end_header\n";
  const auto append = [&](auto value) {
    std::string raw;
    appendLittleEndian(raw, value);
    if (big) std::reverse(raw.begin(), raw.end());
    bytes += raw;
  };
  for (int i = 0; i < 3; ++i) {
    append(static_cast<float>(i));
    append(static_cast<double>(i * i) + 0.25);
    append(static_cast<std::int16_t>(-300 + i));
  }
  append(std::uint16_t{3});
  for (std::uint32_t i : {0u, 1u, 2u}) append(i);
  return bytes;
}

std::string glb(const std::string& json, const std::string& bin) {
  std::string padded = json;
  padded.resize((json.size() + 3) / 4 * 4, ' ');
  std::string bytes = "glTF";
  appendLittleEndian(bytes, 2u);
  appendLittleEndian(bytes, static_cast<std::uint32_t>(28 + padded.size() + bin.size()));
  appendLittleEndian(bytes, static_cast<std::uint32_t>(padded.size()));
  bytes += "JSON" + padded;
  appendLittleEndian(bytes, static_cast<std::uint32_t>(bin.size()));
  return bytes + std::string("BIN\0", 4) + bin;
}

/// So many nodes that show the same mesh of so many parts without anything in them.
std::string emptyParts(int nodes, int parts) {
  std::string all_nodes, roots, all_parts;
  for (int i = 0; i < nodes; ++i) {
    all_nodes += std::string(i > 0 ? "," : "") + R"({"mesh":0})";
    roots += (i > 0 ? "," : "") + std::to_string(i);
  }
  for (int i = 0; i < parts; ++i) all_parts += i > 0 ? ",{}" : "{}";
  return glb(R"({"asset":{"version":"2.0"},"scenes":[{"nodes":[)" + roots + R"(]}],"nodes":[)" +
                 all_nodes + R"(],"meshes":[{"primitives":[)" + all_parts + "]}]}",
             "");
}

/// One triangle of 1 m legs, byte indices, below two nodes: turned 90 degrees about z, then moved.
std::string smallGlb(const std::string& count = "3", const std::string& parent_children = "[1]",
                     const std::string& more = "") {
  std::string bin;
  for (float f : {0.f, 0.f, 0.f, 1.f, 0.f, 0.f, 0.f, 1.f, 0.f}) appendLittleEndian(bin, f);
  bin += std::string("\0\1\2\0", 4);
  return glb(
      "{\"asset\":{\"version\":\"2.0\"},\"scene\":0,\"scenes\":[{\"nodes\":[0]}],\"nodes\":["
      "{\"translation\":[0,0,2],\"children\":" +
          parent_children +
          "},"
          "{\"mesh\":0,\"rotation\":[0,0,0.70710678,0.70710678]}],"
          "\"meshes\":[{\"primitives\":[{\"attributes\":{\"POSITION\":0},\"indices\":1}]}]," +
          more +
          "\"buffers\":[{\"byteLength\":40}],"
          "\"bufferViews\":[{\"buffer\":0,\"byteLength\":36},{\"buffer\":0,\"byteOffset\":36,"
          "\"byteLength\":4}],"
          "\"accessors\":[{\"bufferView\":0,\"componentType\":5126,\"count\":" +
          count +
          ",\"type\":\"VEC3\"},{\"bufferView\":1,\"componentType\":5121,\"count\":3,\"type\":"
          "\"SCALAR\"}]}",
      bin);
}

}  // namespace

TEST_CASE("PLY text: properties in any order, elements in any order, extra lists, polygons") {
  const TriangleMesh mesh = parseMesh(kPlyText, "hand.ply");
  REQUIRE(mesh.vertices_mm.size() == 5);
  CHECK(mesh.vertices_mm[0] == Eigen::Vector3d(1, 1.5, 0));
  CHECK(mesh.vertices_mm[4] == Eigen::Vector3d(1, 4, 9));
  REQUIRE(mesh.triangles.size() == 3);  // The square in two, and the triangle.
  CHECK(mesh.triangles[1] == Eigen::Vector3i(0, 2, 3));
  REQUIRE(mesh.colours.size() == 5);
  CHECK(mesh.colours[0] == std::array<std::uint8_t, 3>{1, 2, 3});
}

TEST_CASE("PLY binary: both byte orders and every width give the same mesh") {
  for (bool big : {false, true}) {
    CAPTURE(big);
    const TriangleMesh mesh = parseMesh(binaryPly(big), "x.ply");
    REQUIRE(mesh.vertices_mm.size() == 3);
    CHECK(mesh.vertices_mm[2] == Eigen::Vector3d(2, 4.25, -298));
    CHECK(mesh.triangles.at(0) == Eigen::Vector3i(0, 1, 2));
  }
}

TEST_CASE("What is written is read back: PLY with every attribute, STL, GLB") {
  const TriangleMesh mesh = tetrahedron();
  const TriangleMesh ply = parseMesh(plyBytes(mesh), "a.ply");
  CHECK(ply.vertices_mm == mesh.vertices_mm);
  CHECK(ply.triangles == mesh.triangles);
  CHECK(ply.colours == mesh.colours);
  CHECK(ply.sigma_mm == mesh.sigma_mm);
  CHECK(ply.guesswork == mesh.guesswork);
  CHECK(ply.wall_sigma_mm == mesh.wall_sigma_mm);
  REQUIRE(ply.normals.size() == 4);
  CHECK((ply.normals[0] - vertexNormals(mesh)[0]).norm() < 1e-6);

  const TriangleMesh stl = parseMesh(stlBytes(mesh), "a.stl");
  CHECK(stl.vertices_mm.size() == 4);  // Twelve corners, merged.
  CHECK(signedVolume(stl) == doctest::Approx(10));
  CHECK(isWatertight(stl));

  const TriangleMesh glb_mesh = parseMesh(glbBytes(mesh), "a.glb");
  CHECK(glb_mesh.triangles == mesh.triangles);
  CHECK(glb_mesh.colours == mesh.colours);  // Through linear light and back.
  for (std::size_t i = 0; i < 4; ++i)
    CHECK((glb_mesh.vertices_mm[i] - mesh.vertices_mm[i]).norm() < 1e-6);
}

TEST_CASE("STL text, OBJ with negative indices and quads, units by option") {
  const std::string stl =
      "solid part\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex -0 +1 0\n"
      "endloop\nendfacet\nendsolid part\n";
  CHECK(parseMesh(stl, "a.stl").triangles.size() == 1);
  const std::string obj =
      "# by hand\nv 0 0 0 1 0 0\nv 1 0 0 0 1 0\nv 1 1 0 0 0 1\nv 0 1 0 1 1 1\n"
      "f 1/1/1 2//2 3 -1\n";
  const TriangleMesh mesh = parseMesh(obj, "a.obj", {.unit_mm = 25.4});
  CHECK(mesh.triangles.size() == 2);
  CHECK(mesh.vertices_mm[2] == Eigen::Vector3d(25.4, 25.4, 0));
  CHECK(mesh.colours[3] == std::array<std::uint8_t, 3>{255, 255, 255});
}

TEST_CASE("GLB: metres become mm, nodes' transforms apply, mirrored parts stay outward") {
  const TriangleMesh mesh = parseMesh(smallGlb(), "a.glb");
  REQUIRE(mesh.vertices_mm.size() == 3);
  CHECK((mesh.vertices_mm[1] - Eigen::Vector3d(0, 1000, 2000)).norm() < 1e-3);
  CHECK((mesh.vertices_mm[2] - Eigen::Vector3d(-1000, 0, 2000)).norm() < 1e-3);
  std::string mirrored = smallGlb();
  const auto at = mirrored.find("\"rotation\":[0,0,0.70710678,0.70710678]");
  mirrored.replace(at, 38, "\"scale\":[-1,1,1]                      ");
  const TriangleMesh turned = parseMesh(mirrored, "a.glb");
  const auto& t = turned.triangles.at(0);
  CHECK((turned.vertices_mm[t[1]] - turned.vertices_mm[t[0]])
            .cross(turned.vertices_mm[t[2]] - turned.vertices_mm[t[0]])
            .z() > 0);
}

TEST_CASE("Every cut of every format is refused with one sentence, or is a smaller whole") {
  const TriangleMesh mesh = tetrahedron();
  const std::pair<std::string, std::string> files[] = {
      {plyBytes(mesh), "a.ply"}, {stlBytes(mesh), "a.stl"},  {glbBytes(mesh), "a.glb"},
      {kPlyText, "b.ply"},       {binaryPly(true), "c.ply"}, {smallGlb(), "d.glb"}};
  for (const auto& [bytes, name] : files)
    for (std::size_t size = 0; size + 2 < bytes.size(); ++size) {
      CAPTURE(name);
      CAPTURE(size);
      const std::string said = complaint(bytes.substr(0, size), name);
      CHECK(said.find(name) == 0);
      CHECK(said.back() == '.');
      CHECK(said.find('\n') == std::string::npos);
    }
}

TEST_CASE("Every single wrong byte is refused or read, never a crash or an endless read") {
  const TriangleMesh mesh = tetrahedron();
  for (const auto& [bytes, name] : {std::pair<std::string, std::string>{plyBytes(mesh), "a.ply"},
                                    {glbBytes(mesh), "a.glb"},
                                    {stlBytes(mesh), "a.stl"},
                                    {kPlyText, "b.ply"},
                                    {smallGlb(), "d.glb"}})
    for (std::size_t i = 0; i < bytes.size(); ++i)
      for (int flip : {0x01, 0x80, 0xff}) {
        std::string damaged = bytes;
        damaged[i] = static_cast<char>(damaged[i] ^ flip);
        try {
          const TriangleMesh read = parseMesh(damaged, name);
          CHECK(read.triangles.size() <= 12);
        } catch (const BadInput&) {
        }
      }
}

TEST_CASE("Headers that lie cost no memory") {
  const long before = peakMemory_kB();
  const std::string ply_body(900, '\0');
  for (const char* count : {"2000000000", "9223372036854775807", "40000000"})
    for (const char* encoding : {"binary_little_endian", "ascii"}) {
      const std::string said = complaint(
          std::string("ply\nformat ") + encoding + " 1.0\nelement vertex " + count +
              "\nproperty float x\nproperty float y\nproperty float z\nend_header\n" + ply_body,
          "liar.ply");
      CHECK(said.find("promises") != std::string::npos);
    }
  CHECK(complaint(std::string("ply\nformat binary_little_endian 1.0\nelement vertex 1\n"
                              "property list uint uchar x\nend_header\n\xff\xff\xff\xff") +
                      ply_body.substr(0, 100),
                  "l.ply") != "");
  std::string stl(84 + 50, '\0');
  stl[83] = '\x70';
  CHECK(complaint(stl, "liar.stl").find("promises") != std::string::npos);
  CHECK(complaint(smallGlb("2000000000"), "liar.glb").find("promises") != std::string::npos);
  CHECK(complaint(smallGlb("3", "[1,1]"), "dag.glb").find("no tree") != std::string::npos);
  CHECK(complaint(smallGlb("3", "[0]"), "ring.glb").find("no tree") != std::string::npos);
  CHECK(complaint(smallGlb("3", "[77]"), "lost.glb") != "");
  CHECK(complaint(emptyParts(1000, 101), "parts.glb").find("too many parts") != std::string::npos);
  CHECK(complaint(emptyParts(1000, 99), "parts.glb").find("too many parts") == std::string::npos);
  CHECK(complaint(smallGlb("3", "[1]", "\"extensionsRequired\":[\"KHR_draco_mesh_compression\"],"),
                  "packed.glb")
            .find("KHR_draco") != std::string::npos);
  CHECK(complaint(glb(std::string(5000, '[') + std::string(5000, ']'), ""), "deep.glb") != "");
  CHECK(peakMemory_kB() - before < 50'000);
}

TEST_CASE("Wrong contents: NaN, infinity, far away, wrong index, no triangle, no mesh") {
  const std::string head = "v 0 0 0\nv 1 0 0\nv 0 1 0\n";
  CHECK(complaint(head + "v 0 nan 0\nf 1 2 4\n", "n.obj").find("no number") != std::string::npos);
  CHECK(complaint(head + "v 0 inf 0\nf 1 2 4\n", "i.obj") != "");
  CHECK(complaint(head + "v 0 1e300 0\nf 1 2 4\n", "f.obj") != "");
  CHECK(complaint(head + "f 1 2 4\n", "o.obj").find("names vertex 3 of 3") != std::string::npos);
  CHECK(complaint(head + "f 1 2 -9\n", "o.obj") != "");
  CHECK(complaint(head + "f 1 2 99999999999\n", "o.obj") != "");
  CHECK(complaint(head, "e.obj").find("no triangles") != std::string::npos);
  CHECK(complaint("", "e.ply").find("empty") != std::string::npos);
  CHECK(complaint("\xff\xd8\xff\xe0 a photo", "a.jpg").find("no mesh") != std::string::npos);
  CHECK(complaint("\xff\xd8\xff\xe0 a photo", "a.obj") != "");
  CHECK(complaint("hello", "a.gltf").find(".glb") != std::string::npos);
  ReadOptions few;
  few.max_triangles = 1;
  CHECK_THROWS_AS(parseMesh(kPlyText, "a.ply", few), BadInput);
}

TEST_CASE("PLY: an uncertainty that is none is refused, as the wall's is") {
  TriangleMesh mesh = tetrahedron();
  for (float honest : {0.f, 0.03f, 100.f}) {
    mesh.sigma_mm[2] = honest;
    CHECK(complaint(plyBytes(mesh), "a.ply").empty());
  }
  const float infinity = std::numeric_limits<float>::infinity();
  for (float wrong : {std::nanf(""), infinity, -infinity, -0.01f, 100.1f}) {
    CAPTURE(wrong);
    mesh.sigma_mm[2] = wrong;
    CHECK(complaint(plyBytes(mesh), "a.ply").find("vertex 2 has an uncertainty (sigma_mm)") !=
          std::string::npos);
  }
}

TEST_CASE("PLY: no reader is kept busy by elements of nothing") {
  // Each line promises what the file's size allows; together they are 1e12 rounds of nothing.
  std::string lines;
  for (int i = 0; i < 200'000; ++i) lines += "element face 5000000\n";
  const std::string bytes = "ply\nformat binary_little_endian 1.0\n" + lines + "end_header\n" +
                            std::string(5'000'000, '\0');
  CHECK(complaint(bytes, "a.ply").find("more than 100 kinds") != std::string::npos);
}

TEST_CASE("GLB: numbers of nodes that are none are refused, colours that are none are black") {
  for (const char* wrong : {"[1e300]", "[-1e300]", "[0.5]", "[-1]"}) {
    CAPTURE(wrong);
    CHECK(complaint(smallGlb("3", wrong), "a.glb").find("'children' is no whole number") !=
          std::string::npos);
  }
  std::string root = smallGlb();
  const auto at = root.find("\"nodes\":[0]}");
  root.replace(at, 12, "\"nodes\":[9e99]}");
  root.replace(root.find("0.70710678"), 10, "0.70710");  // As long as before.
  CHECK(complaint(root, "a.glb").find("'nodes' is no whole number") != std::string::npos);
  const TriangleMesh obj =
      parseMesh("v 0 0 0 nan 0 0\nv 1 0 0 -nan 1 2\nv 0 1 0 0 0 inf\nf 1 2 3\n", "a.obj");
  REQUIRE(obj.colours.size() == 3);
  CHECK(obj.colours[0] == std::array<std::uint8_t, 3>{0, 0, 0});
  CHECK(obj.colours[1] == std::array<std::uint8_t, 3>{0, 255, 255});
  CHECK(obj.colours[2] == std::array<std::uint8_t, 3>{0, 0, 255});
}

TEST_CASE("STL: corners that are no numbers do not each pass by all before them") {
  std::string stl(84, ' ');
  const std::uint32_t triangles = 300'000;  // 900 000 corners: squared, minutes.
  for (int k = 0; k < 4; ++k) stl[80 + k] = static_cast<char>(triangles >> 8 * k & 0xff);
  std::string corners;
  for (int k = 0; k < 12; ++k) appendLittleEndian(corners, std::nanf(""));
  corners += std::string(2, '\0');
  for (std::uint32_t i = 0; i < triangles; ++i) stl += corners;
  CHECK(complaint(stl, "a.stl").find("no number") != std::string::npos);
}

TEST_CASE("Files: missing, a folder, written whole") {
  CHECK_THROWS_AS(readMesh("no/such/file.ply"), BadInput);
  CHECK_THROWS_AS(readMesh(std::filesystem::temp_directory_path()), BadInput);
  CHECK_THROWS_AS(writePly("no/such/folder/a.ply", tetrahedron()), BadInput);
  const auto folder = std::filesystem::temp_directory_path() / "holdshelf_mesh_io_test";
  std::filesystem::create_directories(folder);
  writePly(folder / "a.ply", tetrahedron());
  writeGlb(folder / "a.glb", tetrahedron());
  writeStl(folder / "a.stl", tetrahedron());
  for (const char* name : {"a.ply", "a.glb", "a.stl"})
    CHECK(signedVolume(readMesh(folder / name)) == doctest::Approx(10));
  std::size_t files = 0;
  for ([[maybe_unused]] const auto& entry : std::filesystem::directory_iterator(folder)) ++files;
  CHECK(files == 3);  // No temporary stays behind.
  std::filesystem::remove_all(folder);
}
