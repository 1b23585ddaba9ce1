// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdlib>
#include <fstream>
#include <opencv2/imgcodecs.hpp>
#include <stdexcept>
#include <string>

#include "tests/catalog/temp_folder.h"

namespace holdshelf::test {

/// A PDF's sheet in grey, drawn by poppler's pdftoppm, as a printer's driver would.
/// @param sheet  Counted from 1.
/// @param part   Of the picture, pixels; empty: all of it.
inline cv::Mat rasterisedPdf(const std::string& pdf, double dots_per_inch, int sheet = 1,
                             const cv::Rect& part = {}) {
  const TempFolder folder;
  const std::string in = (folder / "in.pdf").string(), out = (folder / "out").string();
  std::ofstream(in, std::ios::binary) << pdf;
  const std::string number = std::to_string(sheet);
  const std::string command = "pdftoppm -gray -singlefile -f " + number + " -l " + number + " -r " +
                              std::to_string(dots_per_inch) + " -x " + std::to_string(part.x) +
                              " -y " + std::to_string(part.y) + " -W " +
                              std::to_string(part.width) + " -H " + std::to_string(part.height) +
                              " '" + in + "' '" + out + "'";
  if (std::system(command.c_str()) != 0) throw std::runtime_error("pdftoppm failed on a PDF");
  return cv::imread(out + ".pgm", cv::IMREAD_GRAYSCALE);
}

}  // namespace holdshelf::test
