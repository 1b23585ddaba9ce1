// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Geometry>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "tests/shapes/sdf.h"

namespace holdshelf {

/// A bolt hole as it is cut: a bore along z through the whole hold, widened above the seat.
struct ExactBolt {
  enum class Seat { Flat, Cone };
  Eigen::Vector2d axis_mm{0, 0};
  Seat seat = Seat::Flat;
  double seat_height_mm = 12;  ///< Flat: of the bearing face. Cone: of its narrow end, at the bore.
  double bore_mm = 11;         ///< Diameter.
  double recess_mm = 20;       ///< Diameter above the flat seat, or of the cone's wide end.
  double cone_deg = 90;        ///< Full opening angle of a cone seat.
};

/// A hold whose every dimension is known because it was built from them. Frame H, mm, degrees:
/// solid at z >= 0, bolt axis on the origin where there is one. Unset: has no such feature.
struct ExactHold {
  ExactHold(std::string name_, Sdf solid_, const Eigen::AlignedBox3d& box)
      : name(std::move(name_)), solid(std::move(solid_)), box_mm(box) {}

  std::string name;
  Sdf solid;
  Eigen::AlignedBox3d box_mm;  ///< Holds the solid, not tight.
  double protrusion_mm = 0;

  // One edge, pulled down (towards -y) at rotation `edge_rotation_deg` of the hold.
  double edge_rotation_deg = 0;
  std::optional<double> edge_depth_mm;  ///< Lip's outermost z minus z of the flat floor behind.
  std::optional<double> edge_along_mm;  ///< Along the surface, from where the lip's arc begins to
                                        ///< where the root's ends.
  std::optional<double> lip_radius_mm;  ///< Of a true circular arc.
  std::optional<double> incut_deg;
  std::optional<double> edge_width_mm;  ///< Over which the section is exactly the profile.

  // Opposed faces along y, closed on along x.
  std::optional<double> pinch_top_mm;     ///< Width where the faces would meet the top plane.
  std::optional<double> pinch_taper_deg;  ///< Between the faces, positive: narrower outwards.

  std::optional<double> pocket_width_mm;   ///< Along x, between the straight walls.
  std::optional<double> pocket_height_mm;  ///< Along y.
  std::optional<double> pocket_depth_mm;

  std::optional<double> dome_radius_mm;  ///< Of a sphere's cap.

  std::optional<ExactBolt> bolt;
};

/// What an edge is made of; the section is six straight sides with true arcs between them.
struct EdgeSpec {
  double depth_mm = 20;
  double lip_radius_mm = 4;
  double incut_deg = 8;  ///< Negative: slopes away.
  double width_mm = 90;  ///< Of the solid; the exact section runs over width - 2 end_blend.
  double protrusion_mm = 38;
  double root_radius_mm = 3;
  double lip_y_mm = 24;     ///< Of the corner that the lip rounds.
  double floor_mm = 24;     ///< From the root corner to the floor's far end.
  double front_mm = 44;     ///< From the lip to where the face turns to the underside.
  double end_blend_mm = 6;  ///< Rounding of the two ends; 0: square.
};

ExactHold edgeHold(const EdgeSpec& spec);
/// Cap of a sphere; pull in any direction.
ExactHold domeHold(double sphere_radius_mm, double protrusion_mm);
/// Bar along y with sloping sides and rounded crest.
ExactHold pinchHold(double top_mm, double taper_deg, double protrusion_mm, double length_mm,
                    double crest_radius_mm);
/// Mound with a stadium-shaped opening whose lip has a true radius; the bolt sits beside it.
ExactHold pocketHold(double width_mm, double height_mm, double depth_mm, double lip_radius_mm);

/// The same hold with a bolt hole cut into it; a dome's centre hole takes its highest point away.
ExactHold withBolt(const ExactHold& hold, const ExactBolt& bolt);

/// Ready-made holds by name: the plain ones above (edge, rounded, dome, pinch, pocket, jug, chip,
/// fin) and two with character for the demo (ledge, bowl), whose stated dimensions are as exact.
/// @throws std::invalid_argument  No such name; the text lists those there are.
ExactHold holdNamed(const std::string& name);
std::vector<std::string> holdNames();

}  // namespace holdshelf
