// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "proto/hold.pb.h"

namespace holdshelf {

/// One label: a code that opens something on the phone, and what it says beside it.
struct Label {
  std::string url;                 ///< In the code.
  std::string title;               ///< Large: the id, or the bin.
  std::vector<std::string> lines;  ///< Most important first; those that do not fit are left out.
};

/// How labels lie on a sheet, in mm. A label printer's sheet is one label.
struct LabelSheet {
  std::string name;  ///< "A4-21".
  double width_mm, height_mm;
  int columns, rows;
  double label_width_mm, label_height_mm;
  double left_mm, top_mm, step_x_mm, step_y_mm;  ///< First label; from one to the next.
};

/// The sheets that are known: A4 with 8, 12, 21, 24 and 65 labels, and rolls 62, 50 and 38 mm
/// wide (the sizes that such sheets are commonly cut to; common practice, no source).
const std::vector<LabelSheet>& labelSheets();

/// A sheet of labelSheets() by its name, or a label of its own size from "WIDTHxHEIGHT" in mm.
/// @throws BadInput  Neither, or a label smaller than 20 x 12 or larger than 210 x 297 mm.
LabelSheet labelSheet(const std::string& name);

/// The address that opens a hold, and the one that shows a bin. `page` ends with a slash.
std::string holdUrl(const std::string& page, const std::string& id);
std::string binUrl(const std::string& page, const std::string& bin);

/// A hold's label: id, name, bin, what it is good for and the essentials measured.
Label holdLabel(const Hold& hold, const std::string& page);
/// A bin's label: its name and what is in it.
Label binLabel(const std::string& bin, const std::vector<Hold>& holds, const std::string& page);

/// The labels as a PDF at true scale.
/// @param skip  Places of the first sheet that are used up already.
/// @throws BadInput  No label, or a code that would be too fine to be photographed (modules under
///                   0.25 mm: at 300 dots per inch three dots; judgement, no source).
std::string labelsPdf(const std::vector<Label>& labels, const LabelSheet& sheet, int skip = 0);

}  // namespace holdshelf
