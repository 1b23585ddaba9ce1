// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <string>

namespace holdshelf {

/// How a surface looks at one point. Linear BGR, as OpenCV stores pictures.
struct Look {
  Eigen::Vector3f albedo;
  Eigen::Vector3f normal;  ///< With the grit's tilt.
  float roughness = 1;     ///< GGX alpha.
  float specular = 0;      ///< Weight of the coat; 1: reflects 4 % head on.
};

/// A cast polyurethane hold.
struct HoldPaint {
  Eigen::Vector3f albedo_bgr{0.05f, 0.08f, 0.42f};
  float texture = 1;    ///< Contrast of grit in colour and relief; 0.1 is a very smooth hold.
  float gloss = 0.35f;  ///< 0: matt. 1: mirror-like highlights.
  float chalk = 0;      ///< Share of worn-in chalk on top.

  // Where hands have rubbed the grit off: it fades, and gloss grows, towards a spot.
  float polish = 0;  ///< Share of the texture that is gone at the spot; 0: none.
  Eigen::Vector3f polish_at_mm = Eigen::Vector3f::Zero();
  float polish_radius_mm = 20;  ///< Full within half of it, none beyond.
};

/// A paint by colour name (red, blue, ...) or "#rrggbb".
/// @throws std::invalid_argument  Neither.
Eigen::Vector3f colourNamed(const std::string& name);

Look lookOfHold(const HoldPaint& paint, const Eigen::Vector3f& p_mm, const Eigen::Vector3f& normal);
Look lookOfTable(const Eigen::Vector3f& p_mm);
Look lookOfDisc(const Eigen::Vector3f& p_mm);
Look lookOfClutter(const Eigen::Vector3f& p_mm, const Eigen::Vector3f& normal, int thing);

/// Radiance of the room in a direction (world frame), a soft sky over a wall of blotches.
Eigen::Vector3f room(const Eigen::Vector3f& direction);

/// Reflected share, diffuse plus coat, of light from one direction to another, times the cosine.
/// Coat: Walter et al., "Microfacet models for refraction", EGSR 2007 (GGX), with Schlick's
/// Fresnel term and the height-correlated shadowing of Heitz, JCGT 3(2), 2014.
Eigen::Vector3f reflect(const Look& look, const Eigen::Vector3f& to_light,
                        const Eigen::Vector3f& to_eye);

}  // namespace holdshelf
