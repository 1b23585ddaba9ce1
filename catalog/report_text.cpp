// SPDX-License-Identifier: Apache-2.0
#include "catalog/report_text.h"

#include <algorithm>

#include "capture/stored_stages.h"
#include "catalog/measured_text.h"

namespace holdshelf {

std::string reportText(const CaptureReport& report) {
  const auto used =
      std::count_if(report.photos().begin(), report.photos().end(),
                    [](const PhotoReport& photo) { return photo.verdict() == PhotoReport::USED; });
  std::string text = std::to_string(used) + " of " + std::to_string(report.photos_size()) +
                     " photos used, markers met to " +
                     decimalText(report.reprojection_rms_px(), 2) + " px, surface to " +
                     decimalText(report.precision_mm(), 2) + " mm (median standard uncertainty).\n";
  for (const PhotoReport& photo : report.photos())
    if (photo.verdict() != PhotoReport::USED)
      text += "  Not used: " + photo.photo() + ": " + photo.reason() + "\n";
  if (report.guesswork_share() > 0.005)
    text += "  " + decimalText(report.guesswork_share() * 100, 0) +
            " % of the surface was seen by fewer than two good photos and is guesswork.\n";
  for (const std::string& warning : report.warnings()) text += "  Warning: " + warning + "\n";
  for (const std::string& advice : report.advice()) text += "  To do better: " + advice + "\n";
  for (const StageTime& time : report.times())
    if (isReused(time))
      return text + "  Taken up from an earlier run on the same photos (--fresh does without).\n";
  return text;
}

}  // namespace holdshelf
