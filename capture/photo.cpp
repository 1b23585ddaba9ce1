// SPDX-License-Identifier: Apache-2.0
#include "capture/photo.h"

#include <libexif/exif-data.h>
#include <turbojpeg.h>

#include <array>
#include <cstring>
#include <map>
#include <memory>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "mesh/bad_input.h"
#include "mesh/whole_file.h"

namespace holdshelf {
namespace {

using Bytes = std::vector<unsigned char>;

Bytes readBytes(const std::filesystem::path& file) {
  std::error_code error;
  if (!std::filesystem::exists(file, error))
    throw BadInput(file.string() + ": there is no such file; check the name.");
  if (!std::filesystem::is_regular_file(file, error))
    throw BadInput(file.string() + ": this is not a file; give JPEG or PNG files.");
  const auto size = std::filesystem::file_size(file, error);
  if (!error && size > 400'000'000)
    throw BadInput(file.string() + ": over 400 MB is no photo; give JPEG or PNG files.");
  const std::string bytes = readFile(file);
  return {bytes.begin(), bytes.end()};
}

bool startsWith(const Bytes& bytes, std::string_view magic, size_t at = 0) {
  return bytes.size() >= at + magic.size() &&
         std::memcmp(bytes.data() + at, magic.data(), magic.size()) == 0;
}

void refuseHuge(const std::string& where, std::int64_t width, std::int64_t height) {
  if (width < 1 || height < 1 || width > kMaxPhotoPixels / height)
    throw BadInput(where + ": its header says " + std::to_string(width) + " x " +
                   std::to_string(height) + " pixels; at most 100 megapixels are read.");
}

cv::Mat decodeJpeg(const Bytes& bytes, const std::string& where) {
  const std::unique_ptr<void, int (*)(tjhandle)> decoder(tjInitDecompress(), tjDestroy);
  int width = 0, height = 0, subsampling = 0, colourspace = 0;
  if (tjDecompressHeader3(decoder.get(), bytes.data(), bytes.size(), &width, &height, &subsampling,
                          &colourspace) != 0 &&
      tjGetErrorCode(decoder.get()) == TJERR_FATAL)
    throw BadInput(where + ": not a readable JPEG (" + tjGetErrorStr2(decoder.get()) +
                   "); copy it from the camera again.");
  refuseHuge(where, width, height);
  if (colourspace == TJCS_CMYK || colourspace == TJCS_YCCK)
    throw BadInput(where + ": a CMYK JPEG is a print file, not a photo; save it as RGB.");
  cv::Mat bgr(height, width, CV_8UC3);
  // A warning means that the data ended early or broke off somewhere: pixels are missing. A scan of
  // a few bytes costs as much time as one of a whole picture, so their number is limited: cameras
  // write about ten.
  constexpr int kFlags = TJFLAG_ACCURATEDCT | TJFLAG_STOPONWARNING | TJFLAG_LIMITSCANS;
  if (tjDecompress2(decoder.get(), bytes.data(), bytes.size(), bgr.data, width, 0, height, TJPF_BGR,
                    kFlags) == 0)
    return bgr;
  const std::string why = tjGetErrorStr2(decoder.get());
  if (why.find("scans") != std::string::npos)
    throw BadInput(
        where +
        ": a JPEG of more than 500 scans is no photo; give the photo as the camera wrote "
        "it.");
  throw BadInput(where + ": the JPEG is truncated or damaged (" + why +
                 "); copy it from the camera again.");
}

std::uint32_t bigEndian(const unsigned char* p) {
  return std::uint32_t{p[0]} << 24 | std::uint32_t{p[1]} << 16 | std::uint32_t{p[2]} << 8 | p[3];
}

/// What stands in a PNG before its pixels are decoded (PNG specification, section 5).
struct PngChunks {
  std::int64_t width = 0, height = 0;
  Bytes exif;             ///< Contents of the eXIf chunk, or empty.
  bool complete = false;  ///< The IEND chunk was reached.
};

PngChunks walkPng(const Bytes& bytes) {
  PngChunks out;
  for (size_t at = 8; at + 12 <= bytes.size();) {
    const size_t length = bigEndian(&bytes[at]);
    if (length > bytes.size() - at - 12) break;
    // The first chunk alone, as the decoder does: a later, smaller one would be a lie.
    if (at == 8 && startsWith(bytes, "IHDR", at + 4) && length == 13) {
      out.width = bigEndian(&bytes[at + 8]);
      out.height = bigEndian(&bytes[at + 12]);
    }
    if (startsWith(bytes, "eXIf", at + 4))
      out.exif.assign(bytes.begin() + static_cast<std::ptrdiff_t>(at + 8),
                      bytes.begin() + static_cast<std::ptrdiff_t>(at + 8 + length));
    if (startsWith(bytes, "IEND", at + 4)) out.complete = true;
    at += length + 12;
  }
  return out;
}

cv::Mat decodePng(const Bytes& bytes, const PngChunks& chunks, const std::string& where) {
  refuseHuge(where, chunks.width, chunks.height);
  if (!chunks.complete) throw BadInput(where + ": the PNG is truncated; copy it again.");
  cv::Mat bgr;
  try {
    bgr = cv::imdecode(bytes, cv::IMREAD_COLOR | cv::IMREAD_IGNORE_ORIENTATION);
  } catch (const cv::Exception&) {
    bgr.release();
  }
  if (bgr.empty()) throw BadInput(where + ": the PNG is damaged; copy it again.");
  return bgr;
}

std::string trimmed(const char* text) {
  std::string out(text);
  out.erase(out.find_last_not_of(' ') + 1);
  out.erase(0, std::min(out.size(), out.find_first_not_of(' ')));
  return out;
}

std::string exifText(ExifData* data, ExifTag tag) {
  ExifEntry* entry = exif_content_get_entry(data->ifd[EXIF_IFD_0], tag);
  if (!entry) return {};
  std::array<char, 128> text{};
  return trimmed(exif_entry_get_value(entry, text.data(), text.size()));
}

/// First value of a SHORT entry, or 0.
int exifShort(ExifData* data, ExifIfd ifd, ExifTag tag) {
  ExifEntry* entry = exif_content_get_entry(data->ifd[ifd], tag);
  if (!entry || entry->format != EXIF_FORMAT_SHORT || entry->components < 1) return 0;
  return exif_get_short(entry->data, exif_data_get_byte_order(data));
}

void readExif(const Bytes& block, Photo& photo) {
  const std::unique_ptr<ExifData, void (*)(ExifData*)> data(
      exif_data_new_from_data(block.data(), static_cast<unsigned>(block.size())), exif_data_unref);
  if (!data) return;
  const int orientation = exifShort(data.get(), EXIF_IFD_0, EXIF_TAG_ORIENTATION);
  if (orientation >= 1 && orientation <= 8) photo.orientation = orientation;
  const int focal = exifShort(data.get(), EXIF_IFD_EXIF, EXIF_TAG_FOCAL_LENGTH_IN_35MM_FILM);
  if (focal > 0) photo.focal_35mm_mm = focal;
  photo.camera = trimmed(
      (exifText(data.get(), EXIF_TAG_MAKE) + " " + exifText(data.get(), EXIF_TAG_MODEL)).c_str());
}

/// Upright from the stored raster.
cv::Mat turned(const cv::Mat& in, Orientation orientation) {
  cv::Mat out;
  switch (orientation) {
    case 2:
      cv::flip(in, out, 1);
      break;
    case 3:
      cv::rotate(in, out, cv::ROTATE_180);
      break;
    case 4:
      cv::flip(in, out, 0);
      break;
    case 5:
      cv::transpose(in, out);
      break;
    case 6:
      cv::rotate(in, out, cv::ROTATE_90_CLOCKWISE);
      break;
    case 7:
      cv::transpose(in, out);
      cv::rotate(out, out, cv::ROTATE_180);
      break;
    case 8:
      cv::rotate(in, out, cv::ROTATE_90_COUNTERCLOCKWISE);
      break;
    default:
      out = in;
  }
  return out;
}

/// FNV-1a over the rows, eight bytes a step; the size is part of it.
std::uint64_t hashPixels(const cv::Mat& image) {
  std::uint64_t hash = 14695981039346656037ULL;
  const auto mix = [&](std::uint64_t word) {
    hash = (hash ^ word) * 1099511628211ULL;
    hash ^= hash >> 29;
  };
  mix(static_cast<std::uint64_t>(image.cols));
  for (int y = 0; y < image.rows; ++y) {
    const auto* row = image.ptr(y);
    const size_t length = static_cast<size_t>(image.cols) * image.elemSize();
    for (size_t i = 0; i < length; i += 8) {
      std::uint64_t word = 0;
      std::memcpy(&word, row + i, std::min<size_t>(8, length - i));
      mix(word);
    }
  }
  return hash;
}

}  // namespace

Photo readPhoto(const std::filesystem::path& file) {
  const Bytes bytes = readBytes(file);
  const std::string where = file.string();
  Photo photo;
  photo.name = file.filename().string();
  cv::Mat stored;
  if (startsWith(bytes, "\xff\xd8\xff")) {
    stored = decodeJpeg(bytes, where);
    readExif(bytes, photo);
  } else if (startsWith(bytes, "\x89PNG\r\n\x1a\n")) {
    const PngChunks chunks = walkPng(bytes);
    stored = decodePng(bytes, chunks, where);
    if (!chunks.exif.empty()) {
      // The chunk lacks the six bytes that open the block in a JPEG.
      Bytes block = {'E', 'x', 'i', 'f', 0, 0};
      block.insert(block.end(), chunks.exif.begin(), chunks.exif.end());
      readExif(block, photo);
    }
  } else if (startsWith(bytes, "ftyp", 4)) {
    throw BadInput(where +
                   ": HEIC and video files are not read; set the phone to JPEG (\"most "
                   "compatible\") or convert the photo.");
  } else {
    throw BadInput(where + ": not a JPEG or PNG picture; give the photos themselves.");
  }
  photo.bgr = turned(stored, photo.orientation);
  photo.pixel_hash = hashPixels(photo.bgr);
  return photo;
}

std::vector<std::string> photoNames(const std::vector<std::filesystem::path>& files) {
  std::map<std::string, int> times;
  for (const auto& file : files) ++times[file.filename().string()];
  std::vector<std::string> names;
  for (const auto& file : files) {
    const std::string name = file.filename().string();
    names.push_back(times[name] > 1 ? file.string() : name);
  }
  return names;
}

cv::Mat reorient(const cv::Mat& upright, Orientation stored, Orientation as) {
  if (stored == as) return upright;
  // The quarter turns undo each other; every other orientation is its own inverse.
  const Orientation inverse = stored == 6 ? 8 : stored == 8 ? 6 : stored;
  return turned(turned(upright, inverse), as);
}

double focalPixels(double focal_35mm_mm, int width_px, int height_px) {
  return focal_35mm_mm * std::hypot(width_px, height_px) / std::hypot(36.0, 24.0);
}

}  // namespace holdshelf
