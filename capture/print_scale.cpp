// SPDX-License-Identifier: Apache-2.0
#include "capture/print_scale.h"

#include <cstdio>
#include <string>
#include <vector>

#include "capture/paper_size.h"

namespace holdshelf {

void correctPrint(CalibratedCapture& capture) {
  const PaperCheck& paper = capture.paper;
  const double factor = paper.suggested_mat_scale();
  if (!trustsSheetScale(paper)) return;
  for (View& view : capture.views) view.camera.T_camera_hold.translation() *= factor;
  for (Eigen::Vector3d& p : capture.mat_points_H_mm) p *= factor;
  capture.T_hold_mat.translation() *= factor;
  capture.mat_bend_mm *= factor;
  capture.plane_sigma_mm *= factor;
  capture.mat_scale = factor;
  char text[320];
  std::snprintf(text, sizeof text,
                "The mat was not printed to scale: by its own edges the sheet is %s, so the print "
                "has %.2f %% of its size. All lengths were corrected by that (to 0.5 %%, as sheets "
                "are cut); for more, measure the mat's ruler and give what its 100 mm really are.",
                paper.paper().c_str(), 100 * factor);
  std::erase(capture.warnings, paper.message());
  capture.paper.set_message(text);
  capture.warnings.emplace_back(text);
}

}  // namespace holdshelf
