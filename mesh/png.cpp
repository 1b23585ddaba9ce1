// SPDX-License-Identifier: Apache-2.0
#include "mesh/png.h"

#include <png.h>

#include <stdexcept>

#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

/// libpng's simplified interface keeps its state in a png_image that must be freed on every path.
struct PngImage {
  png_image png{};
  PngImage() { png.version = PNG_IMAGE_VERSION; }
  ~PngImage() { png_image_free(&png); }
  PngImage(const PngImage&) = delete;
  PngImage& operator=(const PngImage&) = delete;
};

}  // namespace

std::vector<std::uint8_t> encodePng(const RasterImage& image) {
  PngImage state;
  state.png.width = png_uint_32(image.width_px);
  state.png.height = png_uint_32(image.height_px);
  state.png.format = PNG_FORMAT_RGB;
  png_alloc_size_t size = PNG_IMAGE_PNG_SIZE_MAX(state.png);
  std::vector<std::uint8_t> bytes(size);
  if (!png_image_write_to_memory(&state.png, bytes.data(), &size, 0, image.rgb.data(), 0, nullptr))
    throw std::runtime_error(std::string("encodePng: ") + state.png.message);
  bytes.resize(size);
  return bytes;
}

RasterImage decodePng(const std::vector<std::uint8_t>& bytes, const std::string& name) {
  PngImage state;
  const auto fail = [&]() {
    return BadInput(name + " is not a readable PNG picture (" + state.png.message +
                    "); export or copy it again.");
  };
  if (!png_image_begin_read_from_memory(&state.png, bytes.data(), bytes.size())) throw fail();
  state.png.format = PNG_FORMAT_RGB;
  RasterImage image{int(state.png.width), int(state.png.height), {}};
  image.rgb.resize(PNG_IMAGE_SIZE(state.png));
  const png_color white{255, 255, 255};
  if (!png_image_finish_read(&state.png, &white, image.rgb.data(), 0, nullptr)) throw fail();
  return image;
}

}  // namespace holdshelf
