// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

namespace holdshelf {

/// Files that appear together or not at all: written beside their places, renamed by commit(), and
/// removed if that never comes (with the folder, if it was made here).
class OutputFolder {
 public:
  /// @throws BadInput  The folder cannot be made or written to.
  explicit OutputFolder(std::filesystem::path folder);
  ~OutputFolder();
  OutputFolder(const OutputFolder&) = delete;
  OutputFolder& operator=(const OutputFolder&) = delete;

  void add(const std::string& name, std::string_view bytes);
  void commit();
  const std::filesystem::path& path() const { return folder_; }

 private:
  std::filesystem::path part(const std::string& name) const;

  std::filesystem::path folder_;
  std::vector<std::filesystem::path> made_;  // Folders made here, innermost last.
  std::vector<std::string> names_;
  bool committed_ = false;
};

}  // namespace holdshelf
