// SPDX-License-Identifier: Apache-2.0
#pragma once
#include "mesh/ray_scene.h"
#include "mesh/signature.h"
#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// A surface made ready to be registered many times.
struct RegistrationTarget {
  explicit RegistrationTarget(TriangleMesh mesh_);
  TriangleMesh mesh;
  RayScene scene;
  Signature signature;
};

}  // namespace holdshelf
