// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <array>
#include <string>

#include "mesh/pen.h"

namespace holdshelf {

// What a grip rose is painted on: the few shapes it is made of, as SVG or by a pen. Coordinates are
// px of the SVG, y down; the rose's middle is at kRoseCentre_px, and rotations turn
// counter-clockwise from the top, as the hold turns.

constexpr double kRoseCentre_px = 500;

/// Where a radius and a rotation are.
std::array<double, 2> roseSpot(double radius_px, double rotation_deg);

struct RoseColour {
  int red = 0, green = 0, blue = 0;
};

/// Part of a ring, as wide as a rotation's step.
struct RoseSector {
  double inner_px, outer_px, from_deg, to_deg;
};

/// Where and how words are written; lengths in px.
struct RoseWords {
  double x, y, size;
  double anchor;  ///< 0 begins at x, 0.5 is centred there.
  bool bold = false;
  double halo = 0;  ///< Width of a white border, px.
};

class RoseCanvas {
 public:
  virtual ~RoseCanvas() = default;
  virtual void sector(const RoseSector& sector, const RoseColour& colour) = 0;
  virtual void square(double x, double y, double size, const RoseColour& colour) = 0;
  virtual void text(const RoseWords& at, const std::string& words) = 0;
};

/// Writes the shapes as SVG elements.
class SvgRoseCanvas : public RoseCanvas {
 public:
  void sector(const RoseSector& sector, const RoseColour& colour) override;
  void square(double x, double y, double size, const RoseColour& colour) override;
  void text(const RoseWords& at, const std::string& words) override;
  /// An SVG of its own with all that was painted, 1000 by 1060 px.
  std::string picture() const;

 private:
  std::string svg_;
};

/// Draws the shapes with a pen (mesh/pen.h), arcs as short straight lines.
class PenRoseCanvas : public RoseCanvas {
 public:
  explicit PenRoseCanvas(Pen& pen) : pen_(pen) {}
  void sector(const RoseSector& sector, const RoseColour& colour) override;
  void square(double x, double y, double size, const RoseColour& colour) override;
  void text(const RoseWords& at, const std::string& words) override;

 private:
  void fill(const RoseColour& colour);

  Pen& pen_;
};

}  // namespace holdshelf
