// SPDX-License-Identifier: Apache-2.0
#include "capture/photo_tile.h"

#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "tests/capture/drum_scene.h"
#include "tests/capture/many_scans.h"
#include "tests/capture/mat_scene.h"

using namespace holdshelf;

TEST_CASE("refusedTile: framed, with the photo in grey where its file is at hand") {
  const std::filesystem::path file =
      std::filesystem::temp_directory_path() / "refused_tile_test.png";
  cv::imwrite(file.string(), cv::Mat(300, 400, CV_8UC3, cv::Scalar(200, 0, 0)));
  PhotoReport report;
  report.set_photo(file.filename().string());
  report.set_reason("The photo is blurred.");
  const cv::Mat without = refusedTile(report, {}, {200, 150}),
                with = refusedTile(report, {file}, {200, 150});
  std::filesystem::remove(file);
  CHECK(without.at<cv::Vec3b>(0, 0) == cv::Vec3b(40, 40, 200));
  CHECK(without.at<cv::Vec3b>(100, 150) == cv::Vec3b(214, 212, 210));
  const cv::Vec3b grey = with.at<cv::Vec3b>(100, 150);
  CHECK(grey[0] == grey[1]);
  CHECK(grey[1] == grey[2]);
  CHECK(grey[0] < 200);
}

TEST_CASE("refusedTile: no more is read of a refused photo than of any other") {
  const scene::TemporaryFolder folder("holdshelf_tile_");
  const std::vector<unsigned char> endless = scene::jpegInScans(501);
  std::ofstream(folder / "endless.jpg", std::ios::binary)
      .write(reinterpret_cast<const char*>(endless.data()),
             static_cast<std::streamsize>(endless.size()));
  PhotoReport report;
  report.set_photo("endless.jpg");
  const cv::Mat tile = refusedTile(report, {folder / "endless.jpg"}, {200, 150});
  CHECK(tile.at<cv::Vec3b>(100, 150) == cv::Vec3b(214, 212, 210));  // As without a file.
}

TEST_CASE("photoTile: the part round the hold, of the tile's shape") {
  const test::MatScene world;
  const TriangleMesh mesh = test::twoDrums({90, 90, 95});
  View view = world.photograph(mesh, test::MatScene::camera(10, 30), {500, 500}, 1, nullptr);
  view.bgr = cv::Scalar(10, 200, 10);
  const cv::Mat tile = photoTile(mesh, view, nullptr, {160, 120});
  CHECK(tile.size() == cv::Size(160, 120));
  CHECK(tile.at<cv::Vec3b>(2, 2) == cv::Vec3b(10, 200, 10));
  // The drums are 40 mm high and 60 wide: their outline is drawn well inside of the tile.
  cv::Mat pink;
  cv::inRange(tile, cv::Scalar(120, 0, 150), cv::Scalar(255, 120, 255), pink);
  const cv::Rect box = cv::boundingRect(pink);
  CHECK(box.width > 60);
  CHECK(box.x > 5);
  CHECK(box.br().x < 155);
}
