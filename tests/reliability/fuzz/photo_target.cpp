// SPDX-License-Identifier: Apache-2.0
#include <opencv2/imgcodecs.hpp>

#include "capture/photo.h"
#include "catalog/blob_store.h"
#include "tests/reliability/fuzz/target.h"

namespace fs = std::filesystem;
using namespace holdshelf;

namespace {

/// EXIF of a phone held upright: orientation 6, 26 mm in 35 mm terms, a maker (TIFF 6.0; EXIF 2.3).
std::string exifBlock() {
  using namespace std::string_literals;
  return "Exif\0\0II*\0\x08\0\0\0"s             // First directory at 8.
         "\x03\0"s                              // Three entries:
         "\x0f\x01\x02\0\x04\0\0\0Abc\0"s       // maker,
         "\x12\x01\x03\0\x01\0\0\0\x06\0\0\0"s  // orientation,
         "\x69\x87\x04\0\x01\0\0\0\x32\0\0\0"s  // EXIF directory at 50.
         "\0\0\0\0"s
         "\x01\0\x05\xa4\x03\0\x01\0\0\0\x1a\0\0\0\0\0\0\0"s;
}

std::string encoded(const char* kind, const cv::Mat& image) {
  std::vector<unsigned char> bytes;
  cv::imencode(kind, image, bytes);
  return {bytes.begin(), bytes.end()};
}

std::vector<std::string> seeds() {
  cv::Mat image(16, 24, CV_8UC3);
  for (int y = 0; y < image.rows; ++y)
    for (int x = 0; x < image.cols; ++x)
      image.at<cv::Vec3b>(y, x) = cv::Vec3b(static_cast<uchar>(10 * x), static_cast<uchar>(9 * y),
                                            static_cast<uchar>(7 * (x ^ y)));
  const std::string jpeg = encoded(".jpg", image), exif = exifBlock();
  std::string with_exif = jpeg;
  const std::size_t size = exif.size() + 2;
  with_exif.insert(2, std::string("\xff\xe1", 2) + static_cast<char>(size >> 8) +
                          static_cast<char>(size & 0xff) + exif);
  return {jpeg, with_exif, encoded(".png", image)};
}

/// Pictures as other programs write them, and an eXIf chunk, whose checksum nobody asks for (PNG
/// specification, third edition, 11.3.4.5).
std::vector<std::string> roughSeeds() {
  const cv::Mat grey(8, 8, CV_8UC1, cv::Scalar(90)), deep(8, 8, CV_16UC3, cv::Scalar(900, 9, 90)),
      clear(8, 8, CV_8UC4, cv::Scalar(1, 2, 3, 4));
  std::vector<unsigned char> scans;
  cv::imencode(".jpg", clear, scans,
               {cv::IMWRITE_JPEG_PROGRESSIVE, 1, cv::IMWRITE_JPEG_RST_INTERVAL, 1});
  std::string with_exif = encoded(".png", grey);
  const std::string exif = exifBlock().substr(6);
  constexpr std::size_t kAfterHeader = 33;
  with_exif.insert(kAfterHeader, std::string("\0\0\0", 3) + static_cast<char>(exif.size()) +
                                     "eXIf" + exif + "0000");
  return {{scans.begin(), scans.end()},
          encoded(".jpg", grey),
          encoded(".png", deep),
          encoded(".png", clear),
          with_exif};
}

void take(const std::string& bytes) {
  const fs::path file = test::memoryFolder("photo") / "photo.jpg";
  writeFileDurably(file, bytes);
  const Photo photo = readPhoto(file);
  if (photo.orientation < 1 || photo.orientation > 8) throw std::logic_error("orientation");
  (void)reorient(photo.bgr, photo.orientation, 1);
}

const test::FuzzTarget target("photo", take, seeds, roughSeeds);

}  // namespace
