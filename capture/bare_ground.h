// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <vector>

#include "capture/colour_model.h"
#include "capture/photo_layer.h"

namespace holdshelf {

/// Tells where a photo shows nothing but the mat, or a plain background where there is no mat.
class BareGround {
 public:
  /// Without a mat, the plain background is learnt from the borders of the layers, which have
  /// features and ink.
  BareGround(const PhotoLight& light, const std::vector<PhotoLayer>& layers);

  /// Sets `bare` and, on a mat, `patterned` of photo i.
  void mark(std::size_t i, PhotoLayer& layer) const;

  /// A colour that the plain background has.
  bool isPlain(const Eigen::Vector3f& feature) const {
    return plain_.logDensity(feature) > plain_least_;
  }

 private:
  void learnPlain(const std::vector<PhotoLayer>& layers);

  const PhotoLight& light_;
  ColourModel plain_;
  float plain_least_ = 0;
};

/// True for a hold as black as the mat's ink: then ink proves nothing without its pattern. Looked
/// up where `core` is set and the mat behind would be white.
bool holdLooksLikeInk(const PhotoLight& light, const std::vector<PhotoLayer>& layers);

}  // namespace holdshelf
