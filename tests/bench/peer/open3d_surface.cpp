// SPDX-License-Identifier: Apache-2.0
#include "tests/bench/peer/open3d_surface.h"

#include <open3d/camera/PinholeCameraIntrinsic.h>
#include <open3d/geometry/Image.h>
#include <open3d/geometry/PointCloud.h>
#include <open3d/geometry/RGBDImage.h>
#include <open3d/geometry/TriangleMesh.h>
#include <open3d/pipelines/integration/ScalableTSDFVolume.h>
#include <open3d/utility/Logging.h>

#include <algorithm>
#include <cstring>

namespace holdshelf {
namespace {

namespace o3d = open3d::geometry;

o3d::Image imageOf(const cv::Mat_<float>& depth) {
  o3d::Image image;
  image.Prepare(depth.cols, depth.rows, 1, 4);
  for (int y = 0; y < depth.rows; ++y)
    std::memcpy(image.data_.data() + size_t(y) * size_t(depth.cols) * 4, depth.ptr<float>(y),
                size_t(depth.cols) * 4);
  return image;
}

open3d::camera::PinholeCameraIntrinsic intrinsicOf(const CameraModel& model) {
  return {model.width_px, model.height_px, model.fx_px, model.fy_px, model.cx_px, model.cy_px};
}

TriangleMesh largeParts(o3d::TriangleMesh& mesh, const Eigen::AlignedBox3d& box_mm,
                        double least_cluster) {
  std::vector<bool> outside;
  for (const Eigen::Vector3d& p : mesh.vertices_) outside.push_back(!box_mm.contains(p));
  mesh.RemoveVerticesByMask(outside);
  const auto [cluster, sizes, areas] = mesh.ClusterConnectedTriangles();
  std::vector<bool> small;
  for (const int c : cluster)
    small.push_back(double(sizes[size_t(c)]) < least_cluster * double(cluster.size()));
  mesh.RemoveTrianglesByMask(small);
  mesh.RemoveUnreferencedVertices();
  TriangleMesh out;
  out.vertices_mm = mesh.vertices_;
  out.triangles = mesh.triangles_;
  return out;
}

void quiet() { open3d::utility::SetVerbosityLevel(open3d::utility::VerbosityLevel::Error); }

}  // namespace

TriangleMesh fuseByTsdf(const std::vector<DepthMap>& maps, const Eigen::AlignedBox3d& box_mm,
                        const SurfaceOptions& options) {
  quiet();
  using namespace open3d::pipelines::integration;
  ScalableTSDFVolume volume(options.voxel_mm, options.truncation_mm, TSDFVolumeColorType::NoColor);
  for (const DepthMap& map : maps) {
    o3d::RGBDImage picture;
    picture.depth_ = imageOf(map.depth_mm);
    volume.Integrate(picture, intrinsicOf(map.camera.model), map.camera.T_camera_hold.matrix());
  }
  return largeParts(*volume.ExtractTriangleMesh(), box_mm, options.least_cluster);
}

TriangleMesh fuseByPoisson(const std::vector<DepthMap>& maps, const Eigen::AlignedBox3d& box_mm,
                           const SurfaceOptions& options) {
  quiet();
  o3d::PointCloud all;
  for (const DepthMap& map : maps) {
    const auto points =
        o3d::PointCloud::CreateFromDepthImage(imageOf(map.depth_mm), intrinsicOf(map.camera.model),
                                              map.camera.T_camera_hold.matrix(), 1, 1e9);
    const auto thin = points->VoxelDownSample(options.voxel_mm);
    thin->EstimateNormals(o3d::KDTreeSearchParamHybrid(4 * options.voxel_mm, 30));
    thin->OrientNormalsTowardsCameraLocation(map.camera.centre_H_mm());
    all += *thin;
  }
  const auto [mesh, density] =
      o3d::TriangleMesh::CreateFromPointCloudPoisson(all, size_t(options.poisson_depth));
  std::vector<double> sorted = density;
  const auto cut = sorted.begin() + std::ptrdiff_t(options.least_density * double(sorted.size()));
  std::nth_element(sorted.begin(), cut, sorted.end());
  std::vector<bool> weak;
  for (const double d : density) weak.push_back(d < *cut);
  mesh->RemoveVerticesByMask(weak);
  return largeParts(*mesh, box_mm, options.least_cluster);
}

}  // namespace holdshelf
