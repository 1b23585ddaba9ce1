// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "catalog/hold_numbers.h"
#include "proto/hold.pb.h"

namespace holdshelf {

/// What search reads of a hold beside its names: small enough that all of a library's rows are
/// read in a moment.
struct SearchRow {
  HoldNumbers numbers;
  std::vector<GripWord> words;  ///< Without their reasons.
  float L = 0, a = 0, b = 0;    ///< Colour, CIELAB D65.
  std::string signature;        ///< Of the shape, packed (mesh/signature.h); empty without one.
  float size_mm = 0;
  std::string lips;       ///< By rotation, packed (lip_curve.h).
  std::string mountings;  ///< Grip force and foot use by mounting, packed (mounting_row.h).
};

SearchRow searchRow(const Hold& hold);

/// Packed for the database column `search`. Edge, pinch, pocket and seat numbers are kept to 1/50
/// of a millimetre or degree (two bytes each, up to 655), far below what any scan resolves; the
/// hold's own numbers as they are.
std::string packSearchRow(const Hold& hold);

/// Rows of version 1, which have no lips and mountings, are read too.
/// @throws BadInput  The bytes are damaged or of another version.
SearchRow unpackSearchRow(std::string_view bytes);

}  // namespace holdshelf
