// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>
#include <filesystem>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "catalog/blobs.h"
#include "mesh/open_file.h"
#include "mesh/sha256.h"
#include "mesh/whole_file.h"

namespace holdshelf {

/// Files named by their content: blobs/ab/cdef... holds the bytes whose SHA-256 is abcdef...
/// Written beside, flushed to the disk, and then renamed; what a killed process left beside them is
/// swept up by the next that puts something there. The folder may be shared by several
/// machines over a network file system that renames at once and flushes when told.
class BlobStore : public Blobs {
 public:
  /// The folder is made when the first blob is put.
  explicit BlobStore(std::filesystem::path folder) : folder_(std::move(folder)) {}

  /// @throws StoreUnavailable  The disk does not take it now.
  std::string put(std::string_view bytes) override;
  std::string get(const std::string& name) const override;
  bool has(const std::string& name) const override;
  void discard(const std::string& name) override;
  std::vector<std::string> names() const override;
  /// @throws BadInput  The name is not the hash form (isBlobName).
  std::filesystem::path file(const std::string& name) const;

 private:
  std::filesystem::path folder_;
};

}  // namespace holdshelf
