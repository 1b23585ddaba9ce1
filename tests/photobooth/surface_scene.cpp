// SPDX-License-Identifier: Apache-2.0
#include "tests/photobooth/surface_scene.h"

#include <embree3/rtcore.h>

#include <algorithm>

namespace holdshelf {
namespace {

RTCRay ray(const Eigen::Vector3f& from, const Eigen::Vector3f& direction, float far) {
  RTCRay r{};
  r.org_x = from.x(), r.org_y = from.y(), r.org_z = from.z();
  r.dir_x = direction.x(), r.dir_y = direction.y(), r.dir_z = direction.z();
  r.tnear = 0, r.tfar = far, r.mask = 0xffffffffu;
  return r;
}

}  // namespace

struct SurfaceScene::Impl {
  RTCDevice device = rtcNewDevice(nullptr);
  RTCScene scene = rtcNewScene(device);
  ~Impl() {
    rtcReleaseScene(scene);
    rtcReleaseDevice(device);
  }
};

SurfaceScene::SurfaceScene() : impl_(std::make_unique<Impl>()) {
  rtcSetSceneFlags(impl_->scene, RTC_SCENE_FLAG_ROBUST);
}

SurfaceScene::~SurfaceScene() = default;

void SurfaceScene::add(const Surface& s) {
  RTCGeometry g = rtcNewGeometry(impl_->device, RTC_GEOMETRY_TYPE_TRIANGLE);
  void* v = rtcSetNewGeometryBuffer(g, RTC_BUFFER_TYPE_VERTEX, 0, RTC_FORMAT_FLOAT3,
                                    sizeof(Eigen::Vector3f), s.position.size());
  std::copy(s.position.begin(), s.position.end(), static_cast<Eigen::Vector3f*>(v));
  void* t = rtcSetNewGeometryBuffer(g, RTC_BUFFER_TYPE_INDEX, 0, RTC_FORMAT_UINT3,
                                    sizeof(Eigen::Vector3i), s.triangle.size());
  std::copy(s.triangle.begin(), s.triangle.end(), static_cast<Eigen::Vector3i*>(t));
  rtcCommitGeometry(g);
  rtcAttachGeometry(impl_->scene, g);
  rtcReleaseGeometry(g);
}

void SurfaceScene::commit() { rtcCommitScene(impl_->scene); }

SurfaceHit SurfaceScene::trace(const Eigen::Vector3f& from, const Eigen::Vector3f& direction,
                               float far) const {
  RTCIntersectContext context;
  rtcInitIntersectContext(&context);
  RTCRayHit r{};
  r.ray = ray(from, direction, far);
  r.hit.geomID = RTC_INVALID_GEOMETRY_ID;
  rtcIntersect1(impl_->scene, &context, &r);
  SurfaceHit hit;
  if (r.hit.geomID == RTC_INVALID_GEOMETRY_ID) return hit;
  hit.surface = static_cast<int>(r.hit.geomID);
  hit.triangle = static_cast<int>(r.hit.primID);
  hit.u = r.hit.u;
  hit.v = r.hit.v;
  hit.distance = r.ray.tfar;
  hit.face_normal = Eigen::Vector3f(r.hit.Ng_x, r.hit.Ng_y, r.hit.Ng_z).normalized();
  return hit;
}

bool SurfaceScene::blocked(const Eigen::Vector3f& from, const Eigen::Vector3f& direction,
                           float far) const {
  RTCIntersectContext context;
  rtcInitIntersectContext(&context);
  RTCRay r = ray(from, direction, far);
  rtcOccluded1(impl_->scene, &context, &r);
  return r.tfar < 0;
}

}  // namespace holdshelf
