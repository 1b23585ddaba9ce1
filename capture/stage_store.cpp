// SPDX-License-Identifier: Apache-2.0
#include "capture/stage_store.h"

#include <tbb/parallel_for.h>
#include <unistd.h>

#include <algorithm>
#include <fstream>
#include <regex>
#include <system_error>

#include "mesh/bad_input.h"
#include "mesh/sha256.h"
#include "mesh/whole_file.h"

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

constexpr char kSuffix[] = ".stage";
constexpr std::size_t kDigest = 64;
// A dozen captures of 36 photos; judgement.
constexpr std::uintmax_t kMostBytes = 2'000'000'000;

/// None where it cannot be read: a stage is then made again, and of a photo its own reader says so.
std::string bytesOf(const fs::path& file) {
  try {
    return readFile(file);
  } catch (const BadInput&) {
    return {};
  }
}

/// Whether a file is one of ours, or its unfinished part: 32 hexadecimal digits,
/// -STAGE.stage[.PID].
bool isStage(const std::string& name) {
  static const std::regex ours("[0-9a-f]{32}-[^/]+\\.stage(\\.[0-9]+)?");
  return std::regex_match(name, ours);
}

}  // namespace

StageStore::StageStore(fs::path folder, std::string_view depends_on)
    : folder_(std::move(folder)), fingerprint_(sha256Hex(depends_on)) {}

StageStore StageStore::with(std::string_view depends_on) const {
  StageStore next = *this;
  next.fingerprint_ = sha256Hex(fingerprint_ + std::string(depends_on));
  return next;
}

fs::path StageStore::fileOf(const std::string& stage) const {
  return folder_ / (fingerprint_.substr(0, 32) + "-" + stage + kSuffix);
}

std::optional<std::string> StageStore::read(const std::string& stage) const {
  if (folder_.empty()) return std::nullopt;
  const fs::path file = fileOf(stage);
  std::string bytes = bytesOf(file);
  if (bytes.size() < kDigest) return std::nullopt;
  const std::string digest = bytes.substr(0, kDigest);
  bytes.erase(0, kDigest);
  if (sha256Hex(bytes) != digest) return std::nullopt;
  std::error_code ignored;
  fs::last_write_time(file, fs::file_time_type::clock::now(), ignored);
  return bytes;
}

void StageStore::write(const std::string& stage, std::string_view bytes) const {
  if (folder_.empty()) return;
  std::error_code error;
  fs::create_directories(folder_, error);
  const fs::path file = fileOf(stage), part = file.string() + "." + std::to_string(::getpid());
  {
    std::ofstream out(part, std::ios::binary);
    out << sha256Hex(bytes) << bytes;
    out.close();
    if (!out) {
      fs::remove(part, error);
      return;
    }
  }
  fs::rename(part, file, error);
  if (error) fs::remove(part, error);
  trimStages(folder_, kMostBytes);
}

void trimStages(const fs::path& folder, std::uintmax_t most_bytes) {
  struct Kept {
    fs::file_time_type used;
    std::uintmax_t bytes;
    fs::path file;
  };
  std::vector<Kept> all;
  std::uintmax_t total = 0;
  std::error_code error;
  for (const auto& entry : fs::directory_iterator(folder, error)) {
    if (!isStage(entry.path().filename().string())) continue;
    const auto used = entry.last_write_time(error);
    const auto bytes = entry.file_size(error);
    if (error) continue;
    all.push_back({used, bytes, entry.path()});
    total += bytes;
  }
  std::sort(all.begin(), all.end(), [](const Kept& a, const Kept& b) { return a.used < b.used; });
  for (const Kept& kept : all) {
    if (total <= most_bytes) return;
    fs::remove(kept.file, error);
    total -= kept.bytes;
  }
}

const std::string& programFingerprint() {
  static const std::string fingerprint =
      std::string(HOLDSHELF_VERSION) + " " + sha256Hex(bytesOf("/proc/self/exe"));
  return fingerprint;
}

std::string filesFingerprint(const std::vector<fs::path>& files) {
  std::vector<std::string> digests(files.size());
  tbb::parallel_for(std::size_t{0}, files.size(), [&](std::size_t i) {
    digests[i] = files[i].string() + " " + sha256Hex(bytesOf(files[i])) + "\n";
  });
  std::string all;
  for (const std::string& digest : digests) all += digest;
  return all;
}

}  // namespace holdshelf
