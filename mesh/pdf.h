// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <memory>
#include <string>
#include <vector>

#include "mesh/raster_image.h"

namespace holdshelf {

/// A box on a sheet, in mm: its left upper corner and its size.
struct PdfBox {
  double left_mm, top_mm, width_mm, height_mm;
};

/// Sheets to print at true scale: every place and length in millimetres from the sheet's left upper
/// corner, y down, black unless said. The file asks viewers not to scale when printing
/// (ISO 32000-1, table 150) and is the same bytes for the same drawing. By cairo (drawing, fonts
/// embedded, any UTF-8) and qpdf (the file's own settings).
class PdfSheets {
 public:
  /// Starts with one blank sheet.
  /// @throws std::invalid_argument  A size that is not positive.
  PdfSheets(double width_mm, double height_mm);
  ~PdfSheets();
  PdfSheets(PdfSheets&&) noexcept;
  PdfSheets& operator=(PdfSheets&&) noexcept;

  double width_mm() const;
  double height_mm() const;
  void newSheet();

  void line(const Eigen::Vector2d& from_mm, const Eigen::Vector2d& to_mm, double thickness_mm);
  /// The outline of a box, its line's middle on the box's sides.
  void frame(const PdfBox& box, double thickness_mm);
  /// Boxes filled as one shape, so that touching ones leave no hairline: markers, codes, bars.
  /// @param grey  0 black, 1 white.
  void fill(const std::vector<PdfBox>& boxes, double grey = 0);
  /// A polygon filled with red, green and blue of 0 to 1.
  void polygon(const std::vector<Eigen::Vector2d>& corners_mm,
               const Eigen::Vector3d& rgb = Eigen::Vector3d::Zero());
  void ellipse(const Eigen::Vector2d& centre_mm, double half_width_mm, double half_height_mm);
  /// A picture stretched over the box.
  void image(const PdfBox& box, const RasterImage& picture);

  /// One line of sans-serif text on the baseline at `at_mm`.
  /// @param size_mm  Of the font: capitals are about 0.73 of it high.
  /// @param anchor   0: `at_mm` is the text's left end, 0.5 its middle, 1 its right end.
  void text(const Eigen::Vector2d& at_mm, const std::string& words, double size_mm,
            double anchor = 0, bool bold = false);
  double textWidth_mm(const std::string& words, double size_mm, bool bold = false);
  /// Words broken into lines no wider than this, at spaces only; never empty.
  std::vector<std::string> wrap(const std::string& words, double width_mm, double size_mm,
                                bool bold = false);

  /// The file's bytes; nothing may be drawn after it.
  std::string finish();

 private:
  struct Cairo;
  std::unique_ptr<Cairo> cairo_;
};

}  // namespace holdshelf
