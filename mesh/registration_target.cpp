// SPDX-License-Identifier: Apache-2.0
#include "mesh/registration_target.h"

#include <utility>

namespace holdshelf {

RegistrationTarget::RegistrationTarget(TriangleMesh mesh_)
    : mesh(std::move(mesh_)), scene(mesh), signature(signatureOf(mesh)) {}

}  // namespace holdshelf
