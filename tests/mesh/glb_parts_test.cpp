// SPDX-License-Identifier: Apache-2.0
#include "mesh/glb_parts.h"

#include <doctest/doctest.h>

#include "mesh/glb_document.h"

using namespace holdshelf;

TEST_CASE("GlbParts and glbFile: what is put together is taken apart again") {
  GlbParts parts;
  const std::string positions("\x01\xff\x7f\0\x80\0\0\0", 8);  // Two elements, four bytes apart.
  parts.add("POSITION", positions, 4, 2, 5120, "VEC3", ",\"normalized\":true");
  parts.add("", std::string("\0\1\1", 3), 0, 3, 5121, "SCALAR");
  CHECK(parts.count == 2);
  CHECK(parts.attributes == "\"POSITION\":0");
  CHECK(parts.bin.size() == 12);  // Padded to fours.
  const std::string file = glbFile(
      "{\"bufferViews\":[" + parts.views + "],\"accessors\":[" + parts.accessors + "]}", parts.bin);
  CHECK(file.size() % 4 == 0);
  const GlbDocument document = parseGlbDocument(file, "a.glb");
  const GlbAccessor points = document.accessor(0), indices = document.accessor(1);
  CHECK(points.count == 2);
  CHECK(points.at(0, 0) == doctest::Approx(1 / 127.0));
  CHECK(points.at(0, 2) == doctest::Approx(1));
  CHECK(points.at(1, 0) == doctest::Approx(-1));  // -128 is no less than -127.
  CHECK(indices.at(2, 0) == 1);
}
