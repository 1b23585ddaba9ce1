// SPDX-License-Identifier: Apache-2.0
#include "catalog/web_files.h"

#include <zlib.h>

#include <stdexcept>

#include "catalog/blob_store.h"
#include "mesh/bad_input.h"

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

const std::map<std::string, std::string> kTypes = {{".html", "text/html; charset=utf-8"},
                                                   {".css", "text/css; charset=utf-8"},
                                                   {".js", "text/javascript; charset=utf-8"},
                                                   {".svg", "image/svg+xml"},
                                                   {".webmanifest", "application/manifest+json"}};

}  // namespace

std::string gzipped(std::string_view bytes) {
  constexpr int kGzipWindow = 15 + 16;
  z_stream stream{};
  if (deflateInit2(&stream, 5, Z_DEFLATED, kGzipWindow, 8, Z_DEFAULT_STRATEGY) != Z_OK)
    throw std::runtime_error("zlib cannot start");
  std::string out(deflateBound(&stream, static_cast<uLong>(bytes.size())) + 32, '\0');
  stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(bytes.data()));
  stream.avail_in = static_cast<uInt>(bytes.size());
  stream.next_out = reinterpret_cast<Bytef*>(out.data());
  stream.avail_out = static_cast<uInt>(out.size());
  const int end = deflate(&stream, Z_FINISH);
  out.resize(stream.total_out);
  deflateEnd(&stream);
  if (end != Z_STREAM_END) throw std::runtime_error("zlib cannot compress");
  return out;
}

fs::path pageOfThisProgram() {
  std::error_code none;  // Where there is no /proc, as in a bare chroot, only the page is missed.
  const fs::path folder = fs::read_symlink("/proc/self/exe", none).parent_path();
  const fs::path installed = folder.parent_path() / "share" / "holdshelf" / "web";
  return fs::exists(installed) ? installed : folder / "web";
}

std::map<std::string, WebFile> readWebFiles(const fs::path& folder) {
  if (!fs::exists(folder / "index.html"))
    throw BadInput("There is no page in " + folder.string() +
                   ": build it with cmake --build build --target holdshelf_web, or name its folder "
                   "with --web.");
  std::map<std::string, WebFile> files;
  for (const auto& entry : fs::recursive_directory_iterator(folder)) {
    const auto type = kTypes.find(entry.path().extension().string());
    if (!entry.is_regular_file() || type == kTypes.end()) continue;
    WebFile& file = files["/" + fs::relative(entry.path(), folder).generic_string()];
    file.type = type->second;
    file.bytes = readFile(entry.path());
    file.gzip = gzipped(file.bytes);
    if (file.gzip.size() >= file.bytes.size()) file.gzip.clear();
    file.tag = sha256Hex(file.bytes).substr(0, 16);
  }
  files["/"] = files.at("/index.html");
  return files;
}

}  // namespace holdshelf
