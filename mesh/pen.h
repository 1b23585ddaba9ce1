// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <functional>
#include <string>
#include <vector>

#include "proto/shape.pb.h"

typedef struct _cairo cairo_t;  // NOLINT(bugprone-reserved-identifier): cairo's own name.

namespace holdshelf {

struct RasterImage;  // mesh/raster_image.h

/// A picture in both forms.
struct Plot {
  std::string svg;
  std::string png;
};

/// Draws in a picture's own units, y down: what every plot needs and no more. Black on white, so
/// that pictures survive a photocopier.
class Pen {
 public:
  explicit Pen(cairo_t* c);

  cairo_t* raw() { return c_; }
  void grey(double g);  ///< 0 black, 1 white.
  void line(const Eigen::Vector2d& a, const Eigen::Vector2d& b, double width = 1,
            bool dashed = false);
  /// Lays a path; filling or stroking it is left to the caller.
  void path(const std::vector<Eigen::Vector2d>& points, bool close);
  /// Fills the path laid, with red, green and blue of 0 to 1; black follows.
  void fill(double red, double green, double blue);
  void circle(const Eigen::Vector2d& centre, double radius, double width);
  void arrow(const Eigen::Vector2d& from, const Eigen::Vector2d& to, double width = 1);
  /// Two arrows from the middle outwards, with words beside it: a length on a drawing.
  void dimension(const Eigen::Vector2d& a, const Eigen::Vector2d& b, const std::string& words);
  /// @param anchor  0 left, 0.5 centre, 1 right of the place.
  void text(const Eigen::Vector2d& at, const std::string& words, double size = 13,
            double anchor = 0, bool bold = false);
  /// A picture with its corner here, so many of its pixels to one of these units.
  void image(const RasterImage& picture, const Eigen::Vector2d& at, double pixels_per_unit);
  /// A bar of so many mm with its words, ending at `right`.
  void scaleBar(const Eigen::Vector2d& right, double units_per_mm, double mm);

 private:
  cairo_t* c_;
};

/// Runs `draw` once for the SVG and once for a PNG of twice the size in pixels.
Plot drawPlot(int width, int height, const std::function<void(Pen&)>& draw);

std::string fixed(double value, int decimals);
/// "12.3 ± 0.2 mm", with as many decimals as the uncertainty deserves.
std::string withSigma(const Measured& m, const std::string& unit);

}  // namespace holdshelf
