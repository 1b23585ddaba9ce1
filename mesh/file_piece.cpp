// SPDX-License-Identifier: Apache-2.0
#include "mesh/file_piece.h"

#include <fcntl.h>
#include <unistd.h>

#include <cerrno>

namespace holdshelf {

void writeAll(const OpenFile& to, std::string_view bytes, const std::filesystem::path& file) {
  while (!bytes.empty()) {
    const ssize_t written = ::write(to.get(), bytes.data(), bytes.size());
    if (written < 0 && errno == EINTR) continue;
    if (written < 0) throwErrno(file);
    bytes.remove_prefix(static_cast<std::size_t>(written));
  }
}

void putPiece(const std::filesystem::path& file, std::int64_t offset, std::string_view bytes) {
  const OpenFile to(file, O_WRONLY | O_CREAT | O_APPEND);
  if (::ftruncate(to.get(), offset) != 0) throwErrno(file);
  writeAll(to, bytes, file);
}

}  // namespace holdshelf
