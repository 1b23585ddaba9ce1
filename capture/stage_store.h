// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace holdshelf {

/// What finished stages of long work left, so that the next run with the same inputs takes it up.
/// One file a stage, named by the stage and a fingerprint of all that its result depends on;
/// written beside and renamed, and checked when it is read: a half-written or damaged file counts
/// as none. A store that cannot be written to is no error, only no help. Default-made: keeps
/// nothing.
class StageStore {
 public:
  StageStore() = default;
  /// @param folder      Made when the first stage is kept.
  /// @param depends_on  Text that differs whenever the first stage's result may.
  StageStore(std::filesystem::path folder, std::string_view depends_on);

  /// The same store for later stages, whose results depend on this as well.
  StageStore with(std::string_view depends_on) const;

  std::optional<std::string> read(const std::string& stage) const;
  void write(const std::string& stage, std::string_view bytes) const;

 private:
  std::filesystem::path fileOf(const std::string& stage) const;

  std::filesystem::path folder_;  ///< Empty: keeps nothing.
  std::string fingerprint_;
};

/// Removes stages until the folder holds no more than this, those used longest ago first.
void trimStages(const std::filesystem::path& folder, std::uintmax_t most_bytes);

/// Text that differs between programs that may compute differently: the version and the SHA-256 of
/// the running program's file.
const std::string& programFingerprint();

/// SHA-256 of each file's bytes, in order, with the names; unreadable files count as empty.
std::string filesFingerprint(const std::vector<std::filesystem::path>& files);

}  // namespace holdshelf
