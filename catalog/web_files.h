// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <map>
#include <string>
#include <string_view>

namespace holdshelf {

/// One file of the page.
struct WebFile {
  std::string type, bytes, gzip;  ///< gzip: the bytes compressed; empty where that gains nothing.
  std::string tag;                ///< Of the content.
};

/// Reads the page's folder once; requests are then looked up by name, so no path from a client ever
/// reaches the disk. Keys begin with a slash: "/app.js", "/lib/three.module.min.js".
/// @throws BadInput  There is no page in the folder.
std::map<std::string, WebFile> readWebFiles(const std::filesystem::path& folder);

/// Where the page lies that came with this program: beside it in a build tree, in
/// ../share/holdshelf/web where it is installed.
std::filesystem::path pageOfThisProgram();

/// Compressed for Content-Encoding: gzip (RFC 1952).
std::string gzipped(std::string_view bytes);

}  // namespace holdshelf
