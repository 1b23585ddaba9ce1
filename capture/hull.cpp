// SPDX-License-Identifier: Apache-2.0
#include "capture/hull.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

/// One silhouette as a distance to its outline in the picture, px, positive inside.
struct OutlineField {
  Eigen::Matrix<float, 3, 4> P;  // (u w, v w, w) = P (x, y, z, 1), w the depth in mm.
  float focal_px;
  float width, height;  // Of the frame.
  cv::Mat distance;     // CV_32F, of the region of interest.
  float x0, y0;         // Its corner in the frame.
  bool whole;           // The silhouette does not touch the frame, so all of the hold is in it.

  /// How far outside of the silhouette a point lies, mm at its depth; nullopt out of frame.
  std::optional<float> outside_mm(const Eigen::Vector4f& point) const {
    const Eigen::Vector3f p = P * point;
    if (!(p.z() > 0)) return std::nullopt;
    const float u = p.x() / p.z(), v = p.y() / p.z();
    if (!whole && !(u >= 0 && v >= 0 && u <= width - 1 && v <= height - 1)) return std::nullopt;
    return -at(u - x0, v - y0) * p.z() / focal_px;
  }

  float at(float x, float y) const {
    // Outside the region of interest there is no silhouette: the distance grows from its border.
    const float cx = std::clamp(x, 0.f, float(distance.cols - 1)),
                cy = std::clamp(y, 0.f, float(distance.rows - 1));
    const int xi = std::min(int(cx), std::max(distance.cols - 2, 0)),
              yi = std::min(int(cy), std::max(distance.rows - 2, 0));
    const float fx = cx - float(xi), fy = cy - float(yi);
    const float* a = distance.ptr<float>(yi) + xi;
    const float* b = distance.ptr<float>(std::min(yi + 1, distance.rows - 1)) + xi;
    const int right = distance.cols > 1;
    const float value =
        (a[0] * (1 - fx) + a[right] * fx) * (1 - fy) + (b[0] * (1 - fx) + b[right] * fx) * fy;
    return value - std::hypot(x - cx, y - cy);
  }
};

/// Signed distance of pixel centres to the outline of a mask, positive inside.
cv::Mat signedDistance(const cv::Mat& mask) {
  cv::Mat inside = mask >= 128, outside = mask < 128, in, out;
  cv::distanceTransform(inside, in, cv::DIST_L2, cv::DIST_MASK_5);
  cv::distanceTransform(outside, out, cv::DIST_L2, cv::DIST_MASK_5);
  // Both count to the other side's pixel centres; the outline runs half way. A mask without any
  // outside has no outline: its distances are capped to the picture's size.
  const double cap = mask.rows + mask.cols;
  in = cv::min(in, cap);
  out = cv::min(out, cap);
  cv::Mat d = in - out;
  d.forEach<float>([](float& v, const int*) { v += v > 0 ? -0.5f : 0.5f; });
  // Takes the pixel steps out of slanted outlines.
  cv::GaussianBlur(d, d, {}, 0.8);
  return d;
}

std::vector<OutlineField> outlineFields(const std::vector<View>& views) {
  std::vector<OutlineField> fields(views.size());
  std::vector<char> good(views.size(), 0);
  tbb::parallel_for(std::size_t(0), views.size(), [&](std::size_t i) {
    const View& view = views[i];
    if (view.mask.empty() || cv::countNonZero(view.mask >= 128) == 0) return;
    cv::Rect roi = cv::boundingRect(view.mask >= 128);
    const int border = 16 + std::max(roi.width, roi.height) / 4;
    roi =
        cv::Rect(roi.x - border, roi.y - border, roi.width + 2 * border, roi.height + 2 * border) &
        cv::Rect(0, 0, view.mask.cols, view.mask.rows);
    OutlineField& f = fields[i];
    const CameraModel& m = view.camera.model;
    Eigen::Matrix3d K;
    K << m.fx_px, 0, m.cx_px, 0, m.fy_px, m.cy_px, 0, 0, 1;
    f.P = (K * view.camera.T_camera_hold.matrix().topRows<3>()).cast<float>();
    f.focal_px = float(std::sqrt(m.fx_px * m.fy_px));
    f.width = float(view.mask.cols);
    f.height = float(view.mask.rows);
    f.x0 = float(roi.x);
    f.y0 = float(roi.y);
    const cv::Rect seen = cv::boundingRect(view.mask >= 128);
    f.whole = seen.x > 1 && seen.y > 1 && seen.br().x < view.mask.cols - 1 &&
              seen.br().y < view.mask.rows - 1;
    f.distance = signedDistance(view.mask(roi));
    good[i] = 1;
  });
  std::vector<OutlineField> kept;
  for (std::size_t i = 0; i < fields.size(); ++i)
    if (good[i]) kept.push_back(std::move(fields[i]));
  return kept;
}

/// The combined word of all views on a point: mm outside (+) or inside (-) of the hull.
class Carver {
 public:
  Carver(const std::vector<OutlineField>& fields, const HullOptions& options) : fields_(fields) {
    const int n = int(fields.size());
    outvoted_ = std::clamp(options.outvoted >= 0 ? options.outvoted : n / 40, 0,
                           std::min(n - 1, kMostOutvoted - 1));
    needed_ = std::max(2, int(std::ceil(options.min_seen_by * n)));
  }

  float operator()(const Eigen::Vector3d& point_mm) const {
    const Eigen::Vector4f p = point_mm.homogeneous().cast<float>();
    std::array<float, kMostOutvoted> strongest;  // Descending.
    strongest.fill(-kFar);
    int seen = 0;
    for (const OutlineField& f : fields_) {
      const auto word = f.outside_mm(p);
      if (!word) continue;
      ++seen;
      float v = *word;
      for (int k = 0; k <= outvoted_; ++k)
        if (v > strongest[k]) std::swap(v, strongest[k]);
    }
    return seen >= needed_ ? strongest[outvoted_] : kFar;
  }

  static constexpr float kFar = 1e4f;

 private:
  static constexpr int kMostOutvoted = 16;
  const std::vector<OutlineField>& fields_;
  int outvoted_ = 0, needed_ = 2;
};

/// A grid that covers the box, its origin at the box's lower corner.
VoxelGrid gridOver(const Eigen::AlignedBox3d& box_mm, double cell_mm) {
  VoxelGrid grid;
  grid.origin_mm = box_mm.min();
  grid.cell_mm = cell_mm;
  for (int a = 0; a < 3; ++a)
    grid.nodes[a] = std::max(3, int(std::ceil(box_mm.sizes()[a] / cell_mm - 1e-9)) + 1);
  grid.value.assign(std::size_t(grid.nodes.x()) * grid.nodes.y() * grid.nodes.z(), Carver::kFar);
  return grid;
}

/// Fills the grid: blocks of 8 x 8 x 8 samples that are far from the outline get their centre's
/// value, the others are computed point by point. The value changes by at most about a millimetre
/// a millimetre (more where a view is oblique, hence the factor).
void carveGrid(const Carver& carver, VoxelGrid& grid, const Progress& progress) {
  constexpr int kBlock = 8;
  const Eigen::Vector3i blocks = (grid.nodes.array() + kBlock - 1) / kBlock;
  const float reach = float(1.5 * std::sqrt(3.0) * kBlock / 2 * grid.cell_mm);
  tbb::parallel_for(0, blocks.z() * blocks.y(), [&](int row) {
    const int z0 = row / blocks.y() * kBlock, y0 = row % blocks.y() * kBlock;
    const int z1 = std::min(z0 + kBlock, grid.nodes.z()),
              y1 = std::min(y0 + kBlock, grid.nodes.y());
    for (int x0 = 0; x0 < grid.nodes.x(); x0 += kBlock) {
      const int x1 = std::min(x0 + kBlock, grid.nodes.x());
      const Eigen::Vector3d centre =
          grid.origin_mm +
          grid.cell_mm * 0.5 * Eigen::Vector3d(x0 + x1 - 1, y0 + y1 - 1, z0 + z1 - 1);
      const float middle = carver(centre);
      const bool far = std::abs(middle) > reach && middle < Carver::kFar;
      for (int z = z0; z < z1; ++z)
        for (int y = y0; y < y1; ++y)
          for (int x = x0; x < x1; ++x)
            grid.value[grid.index(x, y, z)] = far ? middle : carver(grid.position_mm(x, y, z));
    }
  });
  if (progress && !progress("carving the hull", 0.9)) throw Interrupted();
}

/// Where the views look together: the point nearest to the rays through the masks' middles, and
/// how far from it the masks reach.
struct Gaze {
  Eigen::Vector3d centre;
  double radius_mm;
};

Gaze commonGaze(const std::vector<View>& views) {
  Eigen::Matrix3d A = Eigen::Matrix3d::Zero();
  Eigen::Vector3d b = Eigen::Vector3d::Zero();
  std::vector<std::pair<const View*, cv::Rect>> seen;
  for (const View& view : views) {
    if (view.mask.empty()) continue;
    const cv::Rect r = cv::boundingRect(view.mask >= 128);
    if (r.empty()) continue;
    seen.push_back({&view, r});
    const Eigen::Vector3d d = (view.camera.T_camera_hold.rotation().transpose() *
                               view.camera.model.ray({r.x + r.width / 2.0, r.y + r.height / 2.0}))
                                  .normalized();
    const Eigen::Matrix3d across = Eigen::Matrix3d::Identity() - d * d.transpose();
    A += across;
    b += across * view.camera.centre_H_mm();
  }
  Gaze gaze;
  gaze.centre = A.ldlt().solve(b);
  std::vector<double> reach;
  for (const auto& [view, r] : seen) {
    const Eigen::Vector3d c = view->camera.T_camera_hold * gaze.centre;
    if (!(c.z() > 0)) continue;
    const auto middle = view->camera.project(gaze.centre);
    const double far_px =
        std::hypot(std::max(std::abs(r.x - middle->x()), std::abs(r.x + r.width - middle->x())),
                   std::max(std::abs(r.y - middle->y()), std::abs(r.y + r.height - middle->y())));
    reach.push_back(far_px * c.z() / view->camera.model.fx_px);
  }
  if (reach.empty()) throw BadInput("The cameras do not look at one place; check their poses.");
  // One view's mask may be the whole picture by mistake, hence not the largest.
  std::sort(reach.begin(), reach.end());
  gaze.radius_mm = reach[std::size_t(0.9 * double(reach.size() - 1))] * 1.15;
  return gaze;
}

/// Box of the samples inside, each with half a cell's diagonal around it; empty: none.
Eigen::AlignedBox3d occupiedBox(const VoxelGrid& grid) {
  Eigen::AlignedBox3d box;
  // A thin part may pass between samples: whatever comes within a cell counts.
  const float reach = float(0.87 * grid.cell_mm);
  for (int z = 0; z < grid.nodes.z(); ++z)
    for (int y = 0; y < grid.nodes.y(); ++y)
      for (int x = 0; x < grid.nodes.x(); ++x)
        if (grid.value[grid.index(x, y, z)] < reach) box.extend(grid.position_mm(x, y, z));
  if (box.isEmpty()) return box;
  const Eigen::Vector3d pad = Eigen::Vector3d::Constant(grid.cell_mm);
  return {box.min() - pad, box.max() + pad};
}

Eigen::AlignedBox3d aboveFloor(Eigen::AlignedBox3d box, double floor_z_mm) {
  box.min().z() = std::max(box.min().z(), floor_z_mm);
  return box;
}

Eigen::AlignedBox3d boundByFields(const std::vector<View>& views, const Carver& carver,
                                  const HullOptions& options) {
  constexpr int kCoarse = 48;
  Eigen::AlignedBox3d box;
  if (options.box_mm) {
    box = *options.box_mm;
  } else {
    const Gaze gaze = commonGaze(views);
    const Eigen::Vector3d r = Eigen::Vector3d::Constant(gaze.radius_mm);
    box = {gaze.centre - r, gaze.centre + r};
  }
  box = aboveFloor(box, options.floor_z_mm);
  for (int pass = 0; pass < 3; ++pass) {
    if (box.isEmpty()) break;
    const double extent = box.sizes().maxCoeff();
    VoxelGrid grid = gridOver(box, extent / kCoarse);
    carveGrid(carver, grid, {});
    Eigen::AlignedBox3d smaller = occupiedBox(grid);
    if (smaller.isEmpty()) return smaller;
    smaller = smaller.intersection(box);
    const bool settled = smaller.sizes().maxCoeff() > 0.8 * extent;
    box = smaller;
    if (settled) break;
  }
  if (box.isEmpty()) box.setEmpty();
  return box;
}

}  // namespace

Eigen::AlignedBox3d boundByMasks(const std::vector<View>& views, const HullOptions& options) {
  const auto fields = outlineFields(views);
  if (fields.size() < 3) return {};
  return boundByFields(views, Carver(fields, options), options);
}

Hull carveHull(const std::vector<View>& views, const HullOptions& options,
               const Progress& progress) {
  if (progress && !progress("carving the hull", 0)) throw Interrupted();
  const auto fields = outlineFields(views);
  if (fields.size() < 3)
    throw BadInput("The hold was found in only " + std::to_string(fields.size()) +
                   " photos, three are the least; take photos all round it on an uncluttered mat.");
  const Carver carver(fields, options);
  const Eigen::AlignedBox3d bound = boundByFields(views, carver, options);
  const auto nothing = [] {
    return BadInput(
        "The hold's outlines in the photos have no body in common; the hold or the mat moved "
        "between photos, or the cameras given are wrong: shoot the hold again without touching "
        "it.");
  };
  if (bound.isEmpty()) throw nothing();
  Eigen::AlignedBox3d box(bound.min() - Eigen::Vector3d::Constant(options.margin_mm),
                          bound.max() + Eigen::Vector3d::Constant(options.margin_mm));
  if (options.box_mm) box = box.intersection(*options.box_mm);
  box = aboveFloor(box, options.floor_z_mm);

  Hull hull;
  const double cell =
      options.cell_mm > 0 ? options.cell_mm : std::max(box.sizes().maxCoeff() / 160, 0.05);
  hull.grid = gridOver(box, cell);
  carveGrid(carver, hull.grid, progress);
  keepLargestSolid(hull.grid, float(cell));
  hull.mesh = isosurface(hull.grid);
  if (hull.mesh.triangles.empty()) throw nothing();
  for (const auto& v : hull.mesh.vertices_mm) hull.box_mm.extend(v);
  return hull;
}

}  // namespace holdshelf
