// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>
#include <filesystem>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "mesh/sha256.h"

namespace holdshelf {

/// Files named by their content: blobs/ab/cdef... holds the bytes whose SHA-256 is abcdef...
/// The same bytes are stored once. A blob is never changed; a half-written one is never seen under
/// its name, since it is written beside, flushed to the disk, and then renamed.
class BlobStore {
 public:
  /// The folder is made when the first blob is put.
  explicit BlobStore(std::filesystem::path folder) : folder_(std::move(folder)) {}

  /// Stores the bytes and returns their name. Durable when it returns.
  /// @throws BadInput  The disk is full or refuses; nothing is under the name then.
  std::string put(std::string_view bytes);

  /// Bytes of a blob, checked against its name.
  /// @throws BadInput  There is no such blob, or the file no longer holds what it was named for.
  std::string get(const std::string& name) const;

  bool has(const std::string& name) const;
  /// Names of all blobs, in order.
  std::vector<std::string> names() const;
  std::filesystem::path file(const std::string& name) const;

 private:
  std::filesystem::path folder_;
};

/// Reads a whole file. @throws BadInput  It is missing or cannot be read.
std::string readFile(const std::filesystem::path& file);

/// Makes names in a folder durable: a new or renamed file is so only when its folder was flushed.
void syncFolder(const std::filesystem::path& folder);

/// Writes a file whole or not at all: beside its place, flushed to the disk, renamed.
void writeFileDurably(const std::filesystem::path& file, std::string_view bytes);

}  // namespace holdshelf
