// SPDX-License-Identifier: Apache-2.0
// Photos whose cameras are known: the short way to a CalibratedCapture.
#include <tbb/parallel_for.h>

#include <map>

#include "capture/calibrate.h"
#include "capture/photo.h"
#include "capture/stage.h"
#include "capture/undistort.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

void setAngles(PhotoReport& report, const PosedCamera& camera) {
  const Eigen::Vector3d eye = camera.centre_H_mm();
  report.set_azimuth_deg(azimuth_deg(eye));
  report.set_elevation_deg(elevation_deg(eye));
}

void refuse(PhotoReport& report, PhotoReport::Verdict verdict, const std::string& reason) {
  report.set_verdict(verdict);
  report.set_reason(reason);
}

/// Keeps the views of photos that can be used, each picture once.
void keepDistinct(const std::vector<std::uint64_t>& hashes, std::vector<View>& views,
                  CalibratedCapture& out) {
  std::map<std::uint64_t, std::string> seen;
  for (size_t i = 0; i < views.size(); ++i) {
    if (out.reports[i].verdict() != PhotoReport::USED) continue;
    const std::string& name = out.reports[i].photo();
    const auto [first, fresh] = seen.emplace(hashes[i], name);
    if (fresh)
      out.views.push_back(std::move(views[i]));
    else
      refuse(out.reports[i], PhotoReport::DUPLICATE,
             name + " is the same picture as " + first->second + ".");
  }
}

}  // namespace

CalibratedCapture knownCapture(const std::vector<std::filesystem::path>& photos,
                               const std::map<std::string, PosedCamera>& cameras,
                               const Progress& progress) {
  CalibratedCapture out;
  out.reports.resize(photos.size());
  std::vector<View> views(photos.size());
  std::vector<std::uint64_t> hashes(photos.size());
  const std::vector<std::string> names = photoNames(photos);
  Stage stage(progress, "Reading photos", photos.size());
  tbb::parallel_for(size_t{0}, photos.size(), [&](size_t i) {
    PhotoReport& report = out.reports[i];
    const std::string& name = names[i];
    report.set_photo(name);
    report.set_verdict(PhotoReport::USED);
    const auto known = cameras.find(photos[i].filename().string());
    try {
      const Photo photo = readPhoto(photos[i]);
      hashes[i] = photo.pixel_hash;
      if (known == cameras.end()) {
        refuse(report, PhotoReport::DISAGREES,
               name + " has no camera in the cameras file; add its line.");
      } else {
        PosedCamera camera = known->second;
        camera.model.width_px = photo.bgr.cols;
        camera.model.height_px = photo.bgr.rows;
        setAngles(report, camera);
        views[i] = Undistorter(camera.model).view(name, photo.bgr, camera.T_camera_hold);
      }
    } catch (const BadInput& bad) {
      refuse(report, PhotoReport::UNREADABLE, bad.what());
    }
    stage.step();
  });
  stage.end(out.times);

  keepDistinct(hashes, views, out);
  if (out.views.size() >= 3) return out;
  std::string sentence = std::to_string(out.views.size()) +
                         " photos have a camera and can be read; at least three are needed.";
  for (const auto& report : out.reports)
    if (report.verdict() != PhotoReport::USED) {
      sentence += " For instance: " + report.reason();
      break;
    }
  throw BadInput(sentence);
}

}  // namespace holdshelf
