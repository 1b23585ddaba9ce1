// SPDX-License-Identifier: Apache-2.0
// What the build looks for is what the scripts install.
#include <doctest/doctest.h>

#include <filesystem>
#include <map>
#include <regex>
#include <string>

#include "catalog/blob_store.h"

using namespace holdshelf;

namespace {

namespace fs = std::filesystem;
const fs::path kRoot = HOLDSHELF_SOURCE_DIR;

/// The Debian 12 package that brings what find_package or pkg_check_modules asks for.
const std::map<std::string, std::string> kPackages = {{"Eigen3", "libeigen3-dev"},
                                                      {"Protobuf", "libprotobuf-dev"},
                                                      {"TBB", "libtbb-dev"},
                                                      {"embree", "libembree-dev"},
                                                      {"Ceres", "libceres-dev"},
                                                      {"OpenCV", "libopencv-dev"},
                                                      {"PNG", "libpng-dev"},
                                                      {"SQLite3", "libsqlite3-dev"},
                                                      {"PostgreSQL", "libpq-dev"},
                                                      {"EXIF", "libexif-dev"},
                                                      {"TURBOJPEG", "libturbojpeg0-dev"},
                                                      {"OpenSSL", "libssl-dev"},
                                                      {"CLI11", "libcli11-dev"},
                                                      {"CAIRO", "libcairo2-dev"},
                                                      {"doctest", "doctest-dev"},
                                                      {"CGAL", "libcgal-dev"},
                                                      {"PkgConfig", "pkg-config"},
                                                      {"Threads", "g++"},
                                                      {"QPDF", "libqpdf-dev"},
                                                      {"Open3D", "libopen3d-dev"},
                                                      {"HTTPLIB", "libcpp-httplib-dev"},
                                                      {"QRENCODE", "libqrencode-dev"},
                                                      {"ZBAR", "libzbar-dev"},
                                                      {"ZLIB", "zlib1g-dev"},
                                                      {"meshoptimizer", "libmeshoptimizer-dev"}};

}  // namespace

TEST_CASE("packages: everything that CMake looks for is in .ci/packages.txt") {
  const std::string packages = "\n" + readFile(kRoot / ".ci/packages.txt");
  const std::regex asks(R"((?:find_package|pkg_check_modules)\((\w+))");
  int found = 0;
  for (const char* file : {"CMakeLists.txt", "catalog/packaging/HoldshelfDependencies.cmake",
                           "proto/CMakeLists.txt", "mesh/CMakeLists.txt", "capture/CMakeLists.txt",
                           "catalog/CMakeLists.txt", "tests/CMakeLists.txt"}) {
    const std::string text = readFile(kRoot / file);
    for (std::sregex_iterator ask(text.begin(), text.end(), asks), end; ask != end; ++ask) {
      const std::string name = (*ask)[1];
      CAPTURE(name);
      REQUIRE(kPackages.count(name) == 1);
      CHECK(packages.find("\n" + kPackages.at(name) + "\n") != std::string::npos);
      ++found;
    }
  }
  CHECK(found >= 12);
  for (const char* tool : {"cmake", "ninja-build", "protobuf-compiler", "ccache"})
    CHECK(packages.find("\n" + std::string(tool) + "\n") != std::string::npos);
}
