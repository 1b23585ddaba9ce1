// SPDX-License-Identifier: Apache-2.0
#include "capture/hold_shift.h"

#include <algorithm>
#include <map>
#include <opencv2/imgproc.hpp>

#include "capture/depth_map.h"
#include "capture/hull.h"
#include "capture/photo_raster.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr int kWidth_px = 320;         // Larger side of the photos looked at.
constexpr int kTolerance_px = 2;       // Outlines of still holds stick out by less.
constexpr std::size_t kLeastPart = 4;  // Fewer photos make no hull to speak of.

View reduced(const View& view) {
  View out;
  out.photo = view.photo;
  const double scale = std::min(1.0, double(kWidth_px) / std::max(view.bgr.cols, view.bgr.rows));
  out.camera = scaledCamera(view.camera, scale);
  cv::resize(view.bgr, out.bgr, {out.camera.model.width_px, out.camera.model.height_px}, 0, 0,
             cv::INTER_AREA);
  return out;
}

std::vector<View> partOf(const std::vector<View>& views, std::size_t from, std::size_t to) {
  return {views.begin() + std::ptrdiff_t(from), views.begin() + std::ptrdiff_t(to)};
}

/// Sets the masks of a part from that part alone. @return false where it shows no hold.
bool outline(std::vector<View>& views, std::size_t from, std::size_t to,
             const SilhouetteInput& input, const Progress& progress) {
  std::vector<View> part = partOf(views, from, to);
  try {
    findSilhouettes(part, input, progress);
  } catch (const BadInput&) {
    return false;
  }
  // Few photos from one side may not bear out each other's outlines; an earlier one stays then.
  for (std::size_t i = 0; i < part.size(); ++i)
    if (!part[i].mask.empty()) views[from + i].mask = part[i].mask;
  return true;
}

TriangleMesh hullOf(const std::vector<View>& views, std::size_t from, std::size_t to) {
  HullOptions options;
  const std::vector<View> part = partOf(views, from, to);
  options.outvoted = part.size() >= 2 * kLeastPart ? 1 : 0;  // One bad outline is no push.
  try {
    const Eigen::AlignedBox3d box = boundByMasks(part, options);
    if (box.isEmpty()) return {};
    options.cell_mm = box.sizes().maxCoeff() / 80;
    return carveHull(part, options).mesh;
  } catch (const BadInput&) {
    return {};
  }
}

/// Tries places of the push: every fourth, then those between the best and its neighbours.
class Places {
 public:
  explicit Places(const std::vector<View>& views) : views_(views) {}

  /// Disagreement within the two groups when the push lies before view k.
  double at(std::size_t k) {
    const auto [it, fresh] = known_.emplace(k, 0);
    if (fresh) {
      const std::size_t n = views_.size();
      it->second = (double(k) * outsideOfHull(views_, 0, k, 0, k) +
                    double(n - k) * outsideOfHull(views_, k, n, k, n)) /
                   double(n);
    }
    return it->second;
  }

  std::size_t best() {
    const std::size_t last = views_.size() - kLeastPart;
    for (std::size_t k = kLeastPart; k <= last; k += 4) at(k);
    at(last);
    for (std::size_t step : {2, 1}) {
      const std::size_t middle = bestKnown();
      if (middle >= kLeastPart + step) at(middle - step);
      if (middle + step <= last) at(middle + step);
    }
    return bestKnown();
  }

 private:
  std::size_t bestKnown() const {
    return std::min_element(known_.begin(), known_.end(),
                            [](const auto& a, const auto& b) { return a.second < b.second; })
        ->first;
  }

  const std::vector<View>& views_;
  std::map<std::size_t, double> known_;
};

}  // namespace

double outsideOfHull(const std::vector<View>& views, std::size_t from, std::size_t to,
                     std::size_t hull_from, std::size_t hull_to) {
  const TriangleMesh hull = hullOf(views, hull_from, hull_to);
  if (hull.triangles.empty()) return 0;
  const cv::Mat disc =
      cv::getStructuringElement(cv::MORPH_ELLIPSE, {2 * kTolerance_px + 1, 2 * kTolerance_px + 1});
  double sum = 0;
  int n = 0;
  for (std::size_t i = from; i < to; ++i) {
    const View& view = views[i];
    const int area = view.mask.empty() ? 0 : cv::countNonZero(view.mask);
    if (area == 0) continue;
    cv::Mat seen;
    cv::dilate(drawnMask(rasterise(hull, rasterCamera(view.camera))), seen, disc);
    sum += double(cv::countNonZero(view.mask & ~seen)) / area;
    ++n;
  }
  return n ? sum / n : 0;
}

HoldShift findHoldShift(const std::vector<View>& views, const SilhouetteInput& input,
                        const Progress& progress) {
  HoldShift shift;
  const std::size_t n = views.size(), half = n / 2;
  if (n < 2 * kLeastPart) return shift;
  int outlined = 0;
  const Progress step = [&](const std::string&, double done) {
    return !progress ||
           progress("Checking that the hold stood still", outlined < 2 ? (outlined + done) / 2 : 1);
  };
  std::vector<View> small;
  for (const View& view : views) small.push_back(reduced(view));
  if (!outline(small, 0, half, input, step)) return shift;
  ++outlined;
  if (!outline(small, half, n, input, step)) return shift;
  ++outlined;
  shift.disagreement =
      std::max(outsideOfHull(small, 0, half, half, n), outsideOfHull(small, half, n, 0, half));
  if (!shift.moved()) return shift;
  // A half that holds the push has outlines of neither standing: quarters spoil fewer.
  const std::size_t parts = n >= 16 ? 4 : 2;
  for (std::size_t p = 0; parts == 4 && p < parts; ++p)
    outline(small, p * n / parts, (p + 1) * n / parts, input, step);
  Places places(small);
  shift.first_after = places.best();
  shift.left_over = places.at(shift.first_after);
  return shift;
}

}  // namespace holdshelf
