// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <charconv>
#include <string>
#include <string_view>

#include "mesh/mesh_io.h"

namespace holdshelf {

// One parser a format, for parseMesh() alone. Each returns a mesh in the file's own unit whose
// indices and attribute sizes may still be wrong: parseMesh() checks them for all.
//
// They are written here rather than taken from a model-import library: the four formats are small,
// and a reader of files that anybody may upload must bound its memory by the file's true size and
// answer with one sentence, which general importers do not promise.

TriangleMesh parsePly(std::string_view bytes, const std::string& name, const ReadOptions& options);
TriangleMesh parseStl(std::string_view bytes, const std::string& name, const ReadOptions& options);
TriangleMesh parseObj(std::string_view bytes, const std::string& name, const ReadOptions& options);
/// In metres, times the nodes' transforms.
TriangleMesh parseGlb(std::string_view bytes, const std::string& name, const ReadOptions& options);

/// True where the size fits the triangle count in the header: what tells binary STL from text that
/// begins with "solid" (many binary files do).
bool isBinaryStl(std::string_view bytes);

/// One triangle more, unless that passes the limit.
void addTriangle(TriangleMesh& mesh, long long a, long long b, long long c, const std::string& name,
                 const ReadOptions& options);

/// A number from a whole word, or false.
template <typename T>
bool parseNumber(std::string_view word, T& value) {
  if (!word.empty() && word.front() == '+') word.remove_prefix(1);
  const auto [end, error] = std::from_chars(word.data(), word.data() + word.size(), value);
  return error == std::errc() && end == word.data() + word.size();
}

}  // namespace holdshelf
