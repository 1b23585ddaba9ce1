// SPDX-License-Identifier: Apache-2.0
#include "capture/patch_colour.h"

#include <doctest/doctest.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <opencv2/imgcodecs.hpp>

#include "mesh/bad_input.h"

using namespace holdshelf;
namespace fs = std::filesystem;

TEST_CASE("patchColour_srgb: the middle's median, whatever stands at the rim or glints in it") {
  const fs::path file =
      fs::temp_directory_path() / ("patch-" + std::to_string(::getpid()) + ".png");
  cv::Mat picture(90, 120, CV_8UC3, cv::Scalar(10, 200, 30));
  picture(cv::Rect(35, 25, 50, 40)).setTo(cv::Scalar(50, 0, 190));
  picture(cv::Rect(45, 35, 10, 10)).setTo(cv::Scalar(255, 255, 255));
  cv::imwrite(file.string(), picture);
  const auto srgb = patchColour_srgb(file);
  CHECK(srgb[0] == doctest::Approx(190 / 255.0));
  CHECK(srgb[1] == doctest::Approx(0));
  CHECK(srgb[2] == doctest::Approx(50 / 255.0));
  cv::imwrite(file.string(), cv::Mat(1, 1, CV_8UC3, cv::Scalar(255, 0, 0)));
  CHECK(patchColour_srgb(file)[2] == doctest::Approx(1));
  std::ofstream(file) << "no picture";
  CHECK_THROWS_AS(patchColour_srgb(file), BadInput);
  fs::remove(file);
}
