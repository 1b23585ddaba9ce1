// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <array>
#include <opencv2/core.hpp>
#include <vector>

#include "capture/patch_sampler.h"
#include "capture/view.h"
#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// What one vertex learnt from the photos.
struct VertexFinding {
  double offset_mm = 0;  ///< Along the normal, to where they agree best.
  double sigma_mm = 0;   ///< Standard uncertainty of it; 0: the photos said nothing.
  bool seen = false;     ///< By two good views at least.
  double patch_mm2 = 0;  ///< Area of the patch that was compared.
};

/// The neighbours of each vertex of a closed mesh, each exactly once.
std::vector<std::vector<int>> vertexRings(const TriangleMesh& mesh);

/// Looks for the offset of a vertex along its normal at which the views that see it agree best
/// (patch_sampler.h). Keeps references to the mesh, whose vertices and normals may change between
/// searches, and to views and rings.
class VertexSearch {
 public:
  VertexSearch(const TriangleMesh& mesh, const std::vector<View>& views,
               const std::vector<std::vector<int>>& rings);

  /// @param visible   Views that see the vertex, the most frontal ones first.
  /// @param reach_px  How far the photos may slide over each other.
  /// @param bend      Bend the patch like the two rings around the vertex, to a radius of 1.5 mm.
  VertexFinding find(int vertex, const std::vector<int>& visible, double reach_px, bool bend) const;

 private:
  Eigen::Vector3d curvature(int v, const Eigen::Vector3d& tx, const Eigen::Vector3d& ty) const;
  void addView(PatchSampler& sampler, int i, const Eigen::Vector3d& p, const Eigen::Vector3d& tx,
               const Eigen::Vector3d& ty, const Eigen::Vector3d& n) const;

  const TriangleMesh& mesh_;
  const std::vector<View>& views_;
  const std::vector<std::vector<int>>& ring_;
  /// The part of a photo where the mesh lies: of 12 megapixels in floating point all of it would be
  /// 48 MB a photo.
  struct GreyPart {
    cv::Mat_<float> pixels;
    Eigen::Vector2d corner_px{0, 0};  ///< In the photo.
  };
  std::vector<GreyPart> grey_;
};

}  // namespace holdshelf
