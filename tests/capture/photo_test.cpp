// SPDX-License-Identifier: Apache-2.0
#include "capture/photo.h"

#include <doctest/doctest.h>

#include <fstream>
#include <opencv2/imgcodecs.hpp>

#include "mesh/bad_input.h"
#include "tests/capture/exif_file.h"
#include "tests/capture/many_scans.h"
#include "tests/capture/mat_scene.h"
#include "tests/complaint.h"

using namespace holdshelf;
using std::filesystem::path;
using Bytes = std::vector<unsigned char>;

namespace {

/// 48 x 32 with a red upper left, green upper right, blue lower left, grey lower right.
cv::Mat picture() {
  cv::Mat out(32, 48, CV_8UC3, cv::Scalar(120, 120, 120));
  out(cv::Rect(0, 0, 24, 16)).setTo(cv::Scalar(0, 0, 250));
  out(cv::Rect(24, 0, 24, 16)).setTo(cv::Scalar(0, 250, 0));
  out(cv::Rect(0, 16, 24, 16)).setTo(cv::Scalar(250, 0, 0));
  return out;
}

Bytes encoded(const std::string& extension, const cv::Mat& image = picture()) {
  Bytes bytes;
  cv::imencode(extension, image, bytes, {cv::IMWRITE_JPEG_QUALITY, 95});
  return bytes;
}

path write(const path& file, const Bytes& bytes) {
  std::ofstream(file, std::ios::binary)
      .write(reinterpret_cast<const char*>(bytes.data()),
             static_cast<std::streamsize>(bytes.size()));
  return file;
}

/// Checksum of a PNG chunk (PNG specification, annex D).
std::uint32_t crc(const unsigned char* data, size_t size) {
  std::uint32_t c = 0xffffffffU;
  for (size_t i = 0; i < size; ++i) {
    c ^= data[i];
    for (int bit = 0; bit < 8; ++bit) c = c & 1 ? 0xedb88320U ^ (c >> 1) : c >> 1;
  }
  return ~c;
}

std::string messageOf(const path& file) {
  return test::complaintOf([&] { readPhoto(file); });
}

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

bool isColour(const cv::Mat& image, int x, int y, const cv::Vec3b& colour) {
  return cv::norm(image.at<cv::Vec3b>(y, x), colour) < 30;
}

const cv::Vec3b kRed(0, 0, 250), kGreen(0, 250, 0), kBlue(250, 0, 0);

}  // namespace

TEST_CASE("readPhoto: PNG and JPEG, pixels as they are") {
  const scene::TemporaryFolder folder("holdshelf_photo_");
  const Photo png = readPhoto(write(folder / "a.png", encoded(".png")));
  CHECK(png.name == "a.png");
  CHECK(cv::norm(png.bgr, picture(), cv::NORM_INF) == 0);
  const Photo jpeg = readPhoto(write(folder / "a.jpg", encoded(".jpg")));
  CHECK(jpeg.bgr.size() == cv::Size(48, 32));
  CHECK(isColour(jpeg.bgr, 8, 5, kRed));
  CHECK(jpeg.orientation == 1);
  CHECK_FALSE(jpeg.focal_35mm_mm);
}

TEST_CASE("readPhoto: the eight EXIF orientations stand upright") {
  // Where the stored upper left corner, red, and the upper right, green, belong in the upright
  // picture: EXIF 2.3, tag 0x0112 ("the 0th row is the visual ..., the 0th column the visual ...").
  struct Place {
    bool red_right, red_bottom, green_right, green_bottom;
  };
  const Place places[9] = {{},
                           {false, false, true, false},   // 1: row top, column left
                           {true, false, false, false},   // 2: top, right
                           {true, true, false, true},     // 3: bottom, right
                           {false, true, true, true},     // 4: bottom, left
                           {false, false, false, true},   // 5: left, top
                           {true, false, true, true},     // 6: right, top
                           {true, true, true, false},     // 7: right, bottom
                           {false, true, false, false}};  // 8: left, bottom
  const scene::TemporaryFolder folder("holdshelf_photo_");
  for (int o = 1; o <= 8; ++o) {
    CAPTURE(o);
    const Photo p = readPhoto(
        write(folder / "o.jpg", scene::jpegWith(encoded(".jpg"), scene::exifBlock(o, 26))));
    CHECK(p.orientation == o);
    REQUIRE(p.focal_35mm_mm);
    CHECK(*p.focal_35mm_mm == 26);
    CHECK(p.bgr.size() == (o >= 5 ? cv::Size(32, 48) : cv::Size(48, 32)));
    const auto at = [&](bool right, bool bottom) {
      return cv::Point(right ? p.bgr.cols - 6 : 5, bottom ? p.bgr.rows - 6 : 5);
    };
    const auto& place = places[o];
    const cv::Point red = at(place.red_right, place.red_bottom);
    const cv::Point green = at(place.green_right, place.green_bottom);
    CHECK(isColour(p.bgr, red.x, red.y, kRed));
    CHECK(isColour(p.bgr, green.x, green.y, kGreen));
    // Back to the stored raster.
    CHECK(isColour(reorient(p.bgr, o, 1), 5, 5, kRed));
    CHECK(isColour(reorient(p.bgr, o, 1), 5, 26, kBlue));
  }
}

TEST_CASE("readPhoto: a PNG's eXIf chunk counts too") {
  const scene::TemporaryFolder folder("holdshelf_photo_");
  Bytes block = scene::exifBlock(6, 0);
  block.erase(block.begin(), block.begin() + 6);
  Bytes chunk = {0,
                 0,
                 static_cast<unsigned char>(block.size() >> 8),
                 static_cast<unsigned char>(block.size() & 255),
                 'e',
                 'X',
                 'I',
                 'f'};
  chunk.insert(chunk.end(), block.begin(), block.end());
  const std::uint32_t sum = crc(chunk.data() + 4, chunk.size() - 4);
  for (int shift : {24, 16, 8, 0}) chunk.push_back(static_cast<unsigned char>(sum >> shift));
  Bytes png = encoded(".png");
  png.insert(png.begin() + 33, chunk.begin(), chunk.end());
  const Photo p = readPhoto(write(folder / "o.png", png));
  CHECK(p.orientation == 6);
  CHECK(p.bgr.size() == cv::Size(32, 48));
}

TEST_CASE("readPhoto: the same picture has the same hash, another one another") {
  const scene::TemporaryFolder folder("holdshelf_photo_");
  const auto hash = [&](const Bytes& bytes) {
    return readPhoto(write(folder / "h.png", bytes)).pixel_hash;
  };
  cv::Mat other = picture();
  other.at<cv::Vec3b>(31, 47)[2] ^= 1;
  CHECK(hash(encoded(".png")) == hash(encoded(".png")));
  CHECK(hash(encoded(".png")) != hash(encoded(".png", other)));
  CHECK(hash(scene::jpegWith(encoded(".jpg"), scene::exifBlock(1, 26))) ==
        hash(scene::jpegWith(encoded(".jpg"), scene::exifBlock(1, 50))));
}

TEST_CASE("readPhoto: every bad file gets its sentence") {
  const scene::TemporaryFolder folder("holdshelf_photo_");
  CHECK(has(messageOf(folder / "none.jpg"), "no such file"));
  CHECK(has(messageOf(folder.path), "not a file"));
  CHECK(has(messageOf(write(folder / "empty.jpg", {})), "not a JPEG or PNG"));
  CHECK(has(messageOf(write(folder / "text.jpg", {'h', 'e', 'l', 'l', 'o', '!', '!', '!', '!'})),
            "not a JPEG or PNG"));
  const Bytes heic = {0, 0, 0, 24, 'f', 't', 'y', 'p', 'h', 'e', 'i', 'c'};
  CHECK(has(messageOf(write(folder / "p.heic", heic)), "HEIC"));

  // Every cut of a JPEG before its last bytes, and of a PNG: none may pass as a picture.
  cv::Mat noisy(64, 64, CV_8UC3);
  cv::randu(noisy, 0, 255);
  for (const char* extension : {".jpg", ".png"}) {
    CAPTURE(extension);
    const Bytes whole = encoded(extension, noisy);
    for (size_t cut = 12; cut + 2 < whole.size(); cut += 97) {
      CAPTURE(cut);
      const auto file = write(folder / (std::string("cut") + extension),
                              Bytes(whole.begin(), whole.begin() + static_cast<long>(cut)));
      CHECK_FALSE(messageOf(file).empty());
    }
  }
  const Bytes jpeg = encoded(".jpg", noisy);
  const Bytes half(jpeg.begin(), jpeg.begin() + static_cast<long>(jpeg.size() / 2));
  CHECK(has(messageOf(write(folder / "half.jpg", half)), "truncated"));
}

TEST_CASE("readPhoto: a header that lies about its size costs no memory") {
  const scene::TemporaryFolder folder("holdshelf_photo_");
  Bytes png = encoded(".png");
  for (size_t i : {16, 17, 20, 21}) png[i] = 0x3f;  // IHDR: about a billion pixels square.
  CHECK(has(messageOf(write(folder / "huge.png", png)), "100 megapixels"));
  Bytes jpeg = encoded(".jpg");
  for (size_t i = 0; i + 8 < jpeg.size(); ++i)
    if (jpeg[i] == 0xff && jpeg[i + 1] == 0xc0) {
      for (size_t k = 5; k < 9; ++k) jpeg[i + k] = 0xee;
      break;
    }
  CHECK(has(messageOf(write(folder / "huge.jpg", jpeg)), "100 megapixels"));
}

TEST_CASE("readPhoto: a JPEG in endless scans is refused, one in many is read") {
  const scene::TemporaryFolder folder("holdshelf_photo_");
  CHECK(readPhoto(write(folder / "many.jpg", scene::jpegInScans(500))).bgr.size() ==
        cv::Size(8, 8));
  CHECK(has(messageOf(write(folder / "endless.jpg", scene::jpegInScans(501))), "500 scans"));
}

TEST_CASE("photoNames: file names, and paths where two folders share one") {
  const auto names = photoNames({"low/1.jpg", "low/2.jpg", "high/1.jpg"});
  CHECK(names == std::vector<std::string>{"low/1.jpg", "2.jpg", "high/1.jpg"});
}

TEST_CASE("focalPixels: the diagonal keeps its angle") {
  // 26 mm on 36 x 24 mm: a frame of the same proportions scales plainly.
  CHECK(focalPixels(26, 3600, 2400) == doctest::Approx(2600));
  // A 4:3 sensor has the same diagonal angle: tan = half diagonal / focal.
  CHECK(2500 / focalPixels(26, 4000, 3000) == doctest::Approx(std::hypot(18, 12) / 26));
}
