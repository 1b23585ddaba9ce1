// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <map>
#include <stdexcept>
#include <string>

#include "catalog/blob_store.h"

namespace holdshelf::test {

/// A folder of its own for one test case, removed with all it holds at the end.
class TempFolder {
 public:
  TempFolder() : TempFolder(std::filesystem::temp_directory_path()) {}
  /// In another one.
  explicit TempFolder(const std::filesystem::path& above) {
    const std::string filled_by_mkdtemp(6, 'X');
    std::string name = (above / ("holdshelf-" + filled_by_mkdtemp)).string();
    if (::mkdtemp(name.data()) == nullptr) throw std::runtime_error("cannot make " + name);
    path_ = name;
  }
  ~TempFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  TempFolder(const TempFolder&) = delete;
  TempFolder& operator=(const TempFolder&) = delete;

  const std::filesystem::path& path() const { return path_; }
  std::filesystem::path operator/(const std::string& name) const { return path_ / name; }

 private:
  std::filesystem::path path_;
};

/// Every file below a folder with its bytes.
inline std::map<std::string, std::string> filesIn(const std::filesystem::path& folder) {
  std::map<std::string, std::string> files;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(folder))
    if (entry.is_regular_file()) files[entry.path().string()] = readFile(entry.path());
  return files;
}

}  // namespace holdshelf::test
