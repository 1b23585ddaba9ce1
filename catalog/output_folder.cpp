// SPDX-License-Identifier: Apache-2.0
#include "catalog/output_folder.h"

#include <unistd.h>

#include <algorithm>

#include "mesh/bad_input.h"
#include "mesh/whole_file.h"

namespace fs = std::filesystem;

namespace holdshelf {

OutputFolder::OutputFolder(fs::path folder) : folder_(std::move(folder)) {
  for (fs::path path = folder_; !path.empty() && !fs::exists(path); path = path.parent_path())
    made_.insert(made_.begin(), path);
  std::error_code error;
  fs::create_directories(folder_, error);
  if (error || !fs::is_directory(folder_) || ::access(folder_.c_str(), W_OK) != 0)
    throw BadInput("The folder " + folder_.string() +
                   " cannot be made or written to: choose another --out.");
}

OutputFolder::~OutputFolder() {
  if (committed_) return;
  std::error_code ignored;
  for (const std::string& name : names_) fs::remove(part(name), ignored);
  // Only empty folders go.
  for (auto path = made_.rbegin(); path != made_.rend(); ++path) fs::remove(*path, ignored);
}

fs::path OutputFolder::part(const std::string& name) const {
  return folder_ / ("." + name + "." + std::to_string(::getpid()) + ".part");
}

void OutputFolder::add(const std::string& name, std::string_view bytes) {
  names_.push_back(name);
  writeWhole(part(name), bytes);
}

void OutputFolder::commit() {
  for (const std::string& name : names_) fs::rename(part(name), folder_ / name);
  committed_ = true;
}

}  // namespace holdshelf
