// SPDX-License-Identifier: Apache-2.0
#include "mesh/whole_file.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <system_error>

#include "mesh/bad_input.h"
#include "mesh/file_piece.h"
#include "mesh/open_file.h"
#include "mesh/unfinished.h"
#include "mesh/unreadable_file.h"

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

constexpr std::size_t kPiece = 1U << 16;

/// Adds what comes next of a file. @return  Whether there was anything. @throws std::system_error
bool readPiece(const OpenFile& from, const fs::path& file, std::string& bytes) {
  const std::size_t before = bytes.size();
  bytes.resize(before + kPiece);
  ssize_t got = 0;
  do got = ::read(from.get(), bytes.data() + before, kPiece);
  while (got < 0 && errno == EINTR);
  if (got < 0) throwErrno(file);
  bytes.resize(before + static_cast<std::size_t>(got));
  return got > 0;
}

}  // namespace

std::string readFile(const fs::path& file) {
  if (auto bytes = readFileIfThere(file)) return *std::move(bytes);
  throw BadInput(file.string() + ": there is no such file.");
}

std::optional<std::string> readFileIfThere(const fs::path& file) {
  try {
    const OpenFile from(file, O_RDONLY);
    struct stat about {};
    if (::fstat(from.get(), &about) != 0) throwErrno(file);
    if (S_ISDIR(about.st_mode)) throw BadInput(file.string() + " is a folder, not a file.");
    std::string bytes;
    bytes.reserve(static_cast<std::size_t>(about.st_size) + kPiece);
    while (readPiece(from, file, bytes)) {
    }
    return bytes;
  } catch (const std::system_error& failure) {
    if (failure.code() == std::errc::no_such_file_or_directory ||
        failure.code() == std::errc::not_a_directory)
      return std::nullopt;
    throw UnreadableFile(file.string() + " cannot be read (" + failure.code().message() +
                         "): check its permissions and the disk.");
  }
}

bool fileHolds(const fs::path& file, std::string_view bytes) {
  std::error_code error;
  if (fs::file_size(file, error) != bytes.size() || error) return false;
  try {
    const OpenFile from(file, O_RDONLY);
    std::string piece;
    for (; readPiece(from, file, piece); piece.clear()) {
      if (!bytes.starts_with(piece)) return false;
      bytes.remove_prefix(piece.size());
    }
    return bytes.empty();
  } catch (const std::system_error&) {
    return false;
  }
}

void writeWhole(const fs::path& file, std::string_view bytes) {
  try {
    Unfinished part(file, Unfinished::Kind::File);
    writeAll(part.file(), bytes, file);
    part.takePlace();
  } catch (const std::system_error&) {
    throw BadInput(file.string() + " can't be written; check that its folder exists and has room.");
  }
}

void writeFileDurably(const fs::path& file, std::string_view bytes) {
  Unfinished part(file, Unfinished::Kind::File);
  writeAll(part.file(), bytes, file);
  part.takePlaceDurably();
}

}  // namespace holdshelf
