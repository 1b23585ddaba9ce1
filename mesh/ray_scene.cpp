// SPDX-License-Identifier: Apache-2.0
#include "mesh/ray_scene.h"

#include <embree3/rtcore.h>

#include <Eigen/Geometry>
#include <limits>
#include <stdexcept>
#include <utility>

namespace holdshelf {
namespace {

/// Nearest point of triangle abc to p. Source: Ericson, "Real-Time Collision Detection",
/// 2005, 5.1.5.
Eigen::Vector3d closestOnTriangle(const Eigen::Vector3d& p, const Eigen::Vector3d& a,
                                  const Eigen::Vector3d& b, const Eigen::Vector3d& c) {
  const Eigen::Vector3d ab = b - a, ac = c - a, ap = p - a;
  const double d1 = ab.dot(ap), d2 = ac.dot(ap);
  if (d1 <= 0 && d2 <= 0) return a;
  const Eigen::Vector3d bp = p - b;
  const double d3 = ab.dot(bp), d4 = ac.dot(bp);
  if (d3 >= 0 && d4 <= d3) return b;
  const double vc = d1 * d4 - d3 * d2;
  if (vc <= 0 && d1 >= 0 && d3 <= 0) return a + d1 / (d1 - d3) * ab;
  const Eigen::Vector3d cp = p - c;
  const double d5 = ab.dot(cp), d6 = ac.dot(cp);
  if (d6 >= 0 && d5 <= d6) return c;
  const double vb = d5 * d2 - d1 * d6;
  if (vb <= 0 && d2 >= 0 && d6 <= 0) return a + d2 / (d2 - d6) * ac;
  const double va = d3 * d6 - d5 * d4;
  if (va <= 0 && d4 - d3 >= 0 && d5 - d6 >= 0)
    return b + (d4 - d3) / ((d4 - d3) + (d5 - d6)) * (c - b);
  const double sum = va + vb + vc;
  return a + ab * (vb / sum) + ac * (vc / sum);
}

}  // namespace

struct RayScene::Impl {
  RTCDevice device = nullptr;
  RTCScene scene = nullptr;
  TriangleMesh mesh;  // Geometry only, for closest points in double.

  ~Impl() {
    if (scene) rtcReleaseScene(scene);
    if (device) rtcReleaseDevice(device);
  }
};

RayScene::RayScene(const TriangleMesh& mesh) : impl_(std::make_unique<Impl>()) {
  impl_->mesh.vertices_mm = mesh.vertices_mm;
  impl_->mesh.triangles = mesh.triangles;
  impl_->device = rtcNewDevice(nullptr);
  if (!impl_->device) throw std::runtime_error("RayScene: Embree has no device");
  impl_->scene = rtcNewScene(impl_->device);
  rtcSetSceneFlags(impl_->scene, RTC_SCENE_FLAG_ROBUST);
  const RTCGeometry geometry = rtcNewGeometry(impl_->device, RTC_GEOMETRY_TYPE_TRIANGLE);
  auto* v = static_cast<float*>(rtcSetNewGeometryBuffer(geometry, RTC_BUFFER_TYPE_VERTEX, 0,
                                                        RTC_FORMAT_FLOAT3, 3 * sizeof(float),
                                                        mesh.vertices_mm.size()));
  for (const Eigen::Vector3d& p : mesh.vertices_mm)
    for (int k = 0; k < 3; ++k) *v++ = static_cast<float>(p[k]);
  auto* t = static_cast<unsigned*>(rtcSetNewGeometryBuffer(geometry, RTC_BUFFER_TYPE_INDEX, 0,
                                                           RTC_FORMAT_UINT3, 3 * sizeof(unsigned),
                                                           mesh.triangles.size()));
  for (const Eigen::Vector3i& triangle : mesh.triangles)
    for (int k = 0; k < 3; ++k) *t++ = static_cast<unsigned>(triangle[k]);
  rtcCommitGeometry(geometry);
  rtcAttachGeometry(impl_->scene, geometry);
  rtcReleaseGeometry(geometry);
  rtcCommitScene(impl_->scene);
}

RayScene::~RayScene() = default;
RayScene::RayScene(RayScene&&) noexcept = default;
RayScene& RayScene::operator=(RayScene&&) noexcept = default;

std::optional<RayHit> RayScene::firstHit(const Eigen::Vector3d& origin,
                                         const Eigen::Vector3d& direction, double near,
                                         double far) const {
  RTCRayHit query{};
  query.ray.org_x = static_cast<float>(origin.x());
  query.ray.org_y = static_cast<float>(origin.y());
  query.ray.org_z = static_cast<float>(origin.z());
  query.ray.dir_x = static_cast<float>(direction.x());
  query.ray.dir_y = static_cast<float>(direction.y());
  query.ray.dir_z = static_cast<float>(direction.z());
  query.ray.tnear = static_cast<float>(near);
  query.ray.tfar = far > 1e30 ? std::numeric_limits<float>::infinity() : static_cast<float>(far);
  query.ray.mask = ~0u;
  query.hit.geomID = RTC_INVALID_GEOMETRY_ID;
  query.hit.instID[0] = RTC_INVALID_GEOMETRY_ID;
  RTCIntersectContext context;
  rtcInitIntersectContext(&context);
  rtcIntersect1(impl_->scene, &context, &query);
  if (query.hit.geomID == RTC_INVALID_GEOMETRY_ID) return std::nullopt;
  const Eigen::Vector3d normal(query.hit.Ng_x, query.hit.Ng_y, query.hit.Ng_z);
  return RayHit{query.ray.tfar, static_cast<int>(query.hit.primID), query.hit.u, query.hit.v,
                normal.normalized()};
}

bool RayScene::occluded(const Eigen::Vector3d& from, const Eigen::Vector3d& to,
                        double gap_mm) const {
  const Eigen::Vector3d step = to - from;
  const double length = step.norm();
  if (length <= 2 * gap_mm) return false;
  RTCRay ray{};
  ray.org_x = static_cast<float>(from.x());
  ray.org_y = static_cast<float>(from.y());
  ray.org_z = static_cast<float>(from.z());
  ray.dir_x = static_cast<float>(step.x() / length);
  ray.dir_y = static_cast<float>(step.y() / length);
  ray.dir_z = static_cast<float>(step.z() / length);
  ray.tnear = static_cast<float>(gap_mm);
  ray.tfar = static_cast<float>(length - gap_mm);
  ray.mask = ~0u;
  RTCIntersectContext context;
  rtcInitIntersectContext(&context);
  rtcOccluded1(impl_->scene, &context, &ray);
  return ray.tfar < 0;
}

std::optional<SurfacePoint> RayScene::closestPoint(const Eigen::Vector3d& point_mm,
                                                   double radius_mm) const {
  struct Search {
    const TriangleMesh* mesh;
    Eigen::Vector3d query;
    SurfacePoint best;
  } search{&impl_->mesh, point_mm, {}};
  search.best.distance_mm = radius_mm;
  RTCPointQuery query{};
  query.x = static_cast<float>(point_mm.x());
  query.y = static_cast<float>(point_mm.y());
  query.z = static_cast<float>(point_mm.z());
  query.radius =
      radius_mm > 1e30 ? std::numeric_limits<float>::infinity() : static_cast<float>(radius_mm);
  RTCPointQueryContext context;
  rtcInitPointQueryContext(&context);
  rtcPointQuery(
      impl_->scene, &query, &context,
      [](RTCPointQueryFunctionArguments* args) {
        auto& s = *static_cast<Search*>(args->userPtr);
        const Eigen::Vector3i& t = s.mesh->triangles[args->primID];
        const Eigen::Vector3d p =
            closestOnTriangle(s.query, s.mesh->vertices_mm[t[0]], s.mesh->vertices_mm[t[1]],
                              s.mesh->vertices_mm[t[2]]);
        const double distance = (p - s.query).norm();
        if (distance > s.best.distance_mm) return false;
        s.best = {p, distance, static_cast<int>(args->primID)};
        // A hair more than the distance, as Embree compares in single precision.
        args->query->radius = static_cast<float>(distance * (1 + 1e-5) + 1e-6);
        return true;
      },
      &search);
  if (search.best.triangle < 0) return std::nullopt;
  return search.best;
}

}  // namespace holdshelf
