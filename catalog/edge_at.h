// SPDX-License-Identifier: Apache-2.0
#pragma once
#include "proto/shape.pb.h"

namespace holdshelf {

/// The deepest measured edge at the 5 degree step nearest to a rotation; nullptr: none there.
const Grip* edgeAt(const Shape& shape, double rotation_deg);

}  // namespace holdshelf
