// SPDX-License-Identifier: Apache-2.0
#include "capture/contact_sheet.h"

#include <doctest/doctest.h>

#include <opencv2/imgcodecs.hpp>

#include "tests/capture/drum_scene.h"

using namespace holdshelf;
using test::MatScene;

namespace {

int countNear(const cv::Mat& picture, const cv::Scalar& bgr, int tolerance) {
  cv::Mat hit;
  const cv::Scalar t = cv::Scalar::all(tolerance);
  cv::inRange(picture, bgr - t, bgr + t, hit);
  return cv::countNonZero(hit);
}

}  // namespace

TEST_CASE("contactSheetPng: photos with outlines, refusals, sides and guesswork") {
  const MatScene scene;
  TriangleMesh mesh = test::twoDrums({90, 90, 95});
  std::vector<View> views;
  CaptureReport report;
  for (int k = 0; k < 3; ++k) {
    views.push_back(
        scene.photograph(mesh, MatScene::camera(120 * k, 30), {500, 500}, unsigned(k), nullptr));
    views.back().photo = "photo_" + std::to_string(k) + ".jpg";
    PhotoReport* photo = report.add_photos();
    photo->set_photo(views.back().photo);
    photo->set_verdict(PhotoReport::USED);
  }
  ContactSheetOptions options;
  options.columns = 4;
  const cv::Mat plain = cv::imdecode(contactSheetPng(mesh, views, report, options), 1);
  REQUIRE(plain.cols == 4 * (options.tile_px + 16) + 16);
  const cv::Scalar pink(200, 30, 255), red(40, 40, 200);
  CHECK(countNear(plain, pink, 40) > 3 * 200);
  CHECK(countNear(plain, red, 10) == 0);

  PhotoReport* refused = report.add_photos();
  refused->set_photo("photo_9.jpg");
  refused->set_verdict(PhotoReport::BLURRED);
  refused->set_reason("The photo is blurred: hold the phone still or use more light.");
  mesh.guesswork.assign(mesh.vertices_mm.size(), 1);
  const cv::Mat full = cv::imdecode(contactSheetPng(mesh, views, report, options), 1);
  CHECK(full.size() == plain.size());
  CHECK(countNear(full, red, 10) > 2000);  // The refused photo's frame and words.
  CHECK(countNear(full, cv::Scalar(40, 120, 235), 12) > 150);  // The legend's orange.
}

TEST_CASE("contactSheetPng: the outline lies on the hold's edge in the photo") {
  const MatScene scene;
  const TriangleMesh mesh = test::twoDrums({90, 90, 95});
  View view = scene.photograph(mesh, MatScene::camera(10, 30), {500, 500}, 1, nullptr);
  // A picture that is white on the hold and black beside it: the line must touch both.
  const RasterCamera camera = MatScene::rasterCamera(view.camera);
  const Raster raster = rasterise(mesh, camera);
  for (std::size_t i = 0; i < raster.triangle.size(); ++i)
    view.bgr.at<cv::Vec3b>(int(i / 640), int(i % 640)) =
        raster.covered(i) ? cv::Vec3b(255, 255, 255) : cv::Vec3b(0, 0, 0);
  ContactSheetOptions options;
  const cv::Mat sheet = cv::imdecode(contactSheetPng(mesh, {view}, {}, options), 1);
  const cv::Mat tile = sheet(cv::Rect(16, sheet.rows - 237 - 16, options.tile_px, 214));
  cv::Mat pink;
  cv::inRange(tile, cv::Scalar(150, 0, 200), cv::Scalar(250, 90, 255), pink);
  REQUIRE(cv::countNonZero(pink) > 200);
  // The line runs between the two, so all of it is within 4 px of white and of black.
  cv::Mat white, black;
  cv::inRange(tile, cv::Scalar(250, 250, 250), cv::Scalar(255, 255, 255), white);
  cv::inRange(tile, cv::Scalar(0, 0, 0), cv::Scalar(8, 8, 8), black);
  const cv::Mat near = cv::getStructuringElement(cv::MORPH_ELLIPSE, {9, 9});
  cv::dilate(white, white, near);
  cv::dilate(black, black, near);
  CHECK(cv::countNonZero(pink & white & black) > 0.97 * cv::countNonZero(pink));
}
