// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <opencv2/core.hpp>
#include <vector>

#include "capture/bare_ground.h"
#include "capture/colour_model.h"
#include "capture/photo_layer.h"

namespace holdshelf {

/// Draws the outline of the hold in a photo by a minimal cut (capture/graph_cut.h) between what is
/// coloured as the hold and what is coloured as the ground or the surroundings.
class OutlineCut {
 public:
  /// Learns the hold's colours from all photos together and each photo's surroundings by
  /// themselves, from the outlines so far; before the first cut, from the first bounds.
  /// @throws BadInput  The hold cannot be told from the mat.
  OutlineCut(const PhotoLight& light, const BareGround& ground,
             const std::vector<PhotoLayer>& layers);

  /// Sets `mask` of photo i, within `limit`.
  void cut(std::size_t i, PhotoLayer& layer) const;

  /// Log likelihoods as hold minus as background, summed over the pixels where `where` is set.
  double gainOver(std::size_t i, const PhotoLayer& layer, const cv::Mat& where) const;

  /// An outline found at a working resolution brought to the photo's and to the edge, within the
  /// doubt of a working pixel or two. @return  CV_8UC1 of the photo's size.
  cv::Mat refined(std::size_t i, const PhotoLayer& rough, cv::Size photo) const;

 private:
  void leaveOutInk(std::size_t i, const PhotoLayer& layer, cv::Mat& where) const;
  void leaveOutPlain(const PhotoLayer& layer, cv::Mat& where) const;
  cv::Mat surelyHold(std::size_t i, const PhotoLayer& layer) const;
  float gain(std::size_t i, const MatColours& colours, const PhotoLayer& layer, int x, int y) const;

  const PhotoLight& light_;
  const BareGround& ground_;
  ColourModel hold_;
  std::vector<ColourModel> around_;  ///< What is beside the hold and not on the mat, by photo.
};

}  // namespace holdshelf
