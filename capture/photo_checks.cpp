// SPDX-License-Identifier: Apache-2.0
#include "capture/photo_checks.h"

#include <algorithm>
#include <cstdio>
#include <map>

#include "capture/median.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

/// 10 to 90 % width of an edge blurred by a Gaussian of sigma 1: twice the 90 % quantile.
constexpr double kEdgeWidth = 2.5631;

std::pair<int, int> storedSize(const Photo& p) {
  const bool quarter = p.orientation >= 5;
  return quarter ? std::pair(p.bgr.rows, p.bgr.cols) : std::pair(p.bgr.cols, p.bgr.rows);
}

/// Size of the stored raster, and how it is turned, as most photos have it.
struct Usual {
  std::pair<int, int> size;
  Orientation orientation = 1;
};

Usual usualRaster(const PhotoSet& set) {
  std::map<std::pair<int, int>, std::map<Orientation, int>> sizes;
  for (size_t i = 0; i < set.size(); ++i)
    if (set.used(i)) ++sizes[storedSize(set.photos[i].photo)][set.photos[i].photo.orientation];
  Usual usual;
  int most = 0;
  for (const auto& [size, orientations] : sizes) {
    int total = 0, most_turned = 0;
    for (const auto& [orientation, n] : orientations) total += n;
    if (total <= most) continue;
    most = total;
    usual.size = size;
    for (const auto& [orientation, n] : orientations)
      if (n > most_turned) most_turned = n, usual.orientation = orientation;
  }
  return usual;
}

}  // namespace

size_t PhotoSet::countUsed() const {
  size_t n = 0;
  for (size_t i = 0; i < size(); ++i) n += used(i);
  return n;
}

void PhotoSet::refuse(size_t i, PhotoReport::Verdict verdict, const std::string& reason) {
  reports[i].set_verdict(verdict);
  reports[i].set_reason(reason);
  photos[i].photo.bgr.release();
}

void refuseDuplicates(PhotoSet& set) {
  std::map<std::uint64_t, size_t> seen;
  for (size_t i = 0; i < set.size(); ++i) {
    if (!set.used(i)) continue;
    const auto [first, fresh] = seen.emplace(set.photos[i].photo.pixel_hash, i);
    if (!fresh)
      set.refuse(i, PhotoReport::DUPLICATE,
                 set.reports[i].photo() + " is the same picture as " +
                     set.reports[first->second].photo() + ".");
  }
}

void keepOneSize(PhotoSet& set, const Mat& mat) {
  const Usual usual = usualRaster(set);
  for (size_t i = 0; i < set.size(); ++i) {
    if (!set.used(i)) continue;
    Photo& photo = set.photos[i].photo;
    if (storedSize(photo) != usual.size) {
      set.refuse(i, PhotoReport::DISAGREES,
                 photo.name + " is " + std::to_string(photo.bgr.cols) + " x " +
                     std::to_string(photo.bgr.rows) +
                     " pixels, unlike most of the photos; use one camera and one size.");
    } else if (photo.orientation != usual.orientation) {
      photo.bgr = reorient(photo.bgr, photo.orientation, usual.orientation);
      photo.orientation = usual.orientation;
      findMat(set.photos[i], mat);
    }
  }
}

void requireAnyMarker(const PhotoSet& set, const Mat& mat) {
  size_t readable = 0;
  for (const PhotoReport& report : set.reports) {
    if (report.markers_found() > 0) return;
    readable += report.verdict() == PhotoReport::USED;
  }
  if (readable > 0)
    throw BadInput(
        "None of the markers that the mat file" + (mat.name().empty() ? "" : " of " + mat.name()) +
        " describes is found in any of " + std::to_string(readable) +
        " photos: pass the .json that came with the PDF that was printed, and keep the mat "
        "in view.");
}

void refuseWithoutMat(PhotoSet& set, const Mat& mat) {
  const int needed = std::min(4, mat.markers_size());
  for (size_t i = 0; i < set.size(); ++i) {
    const int found = set.reports[i].markers_found();
    if (!set.used(i) || found >= needed) continue;
    set.refuse(
        i, PhotoReport::MAT_NOT_FOUND,
        set.reports[i].photo() + " shows " + std::to_string(found) + " of the mat's " +
            std::to_string(mat.markers_size()) + " markers, at least " + std::to_string(needed) +
            " are needed; keep more of the mat in view and in focus, and take a larger mat where "
            "the hold hides it.");
  }
}

void refuseBlurredAndBurnt(PhotoSet& set) {
  std::vector<double> widths;
  for (size_t i = 0; i < set.size(); ++i) {
    if (!set.used(i)) continue;
    set.reports[i].set_sharpness(kEdgeWidth * set.photos[i].blur_px());
    widths.push_back(set.reports[i].sharpness());
  }
  if (widths.empty()) return;
  const double usual = medianOf(widths);
  for (size_t i = 0; i < set.size(); ++i) {
    if (!set.used(i)) continue;
    const std::string& name = set.reports[i].photo();
    const double width = set.reports[i].sharpness(), clipped = set.photos[i].clipped;
    if (width > std::max(4.5, 2 * usual) || width > 12)
      set.refuse(i, PhotoReport::BLURRED,
                 name + " is blurred: edges are " + rounded(width) +
                     " px wide where most photos have " + rounded(usual) +
                     "; hold still or give more light.");
    else if (clipped > 0.6)
      set.refuse(i, PhotoReport::OVEREXPOSED,
                 name + " is over-exposed: " + std::to_string(static_cast<int>(100 * clipped)) +
                     " % of the mat is pure white; lower the exposure.");
  }
}

void requireEnough(const PhotoSet& set, int needed) {
  const size_t used = set.countUsed();
  if (used >= static_cast<size_t>(needed)) return;
  std::string sentence = std::to_string(used) + " of the " + std::to_string(set.size()) +
                         " photos can be used and at least " + std::to_string(needed) +
                         " are needed; shoot 24 to 36 all round, from low, middle and high.";
  // One refused photo's reason helps more than a count.
  for (const auto& report : set.reports)
    if (report.verdict() != PhotoReport::USED) {
      sentence += " For instance: " + report.reason();
      break;
    }
  throw BadInput(sentence);
}

std::string rounded(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.1f", value);
  return text;
}

std::string twoDecimals(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.2f", value);
  return text;
}

}  // namespace holdshelf
