// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "proto/climb.pb.h"

namespace holdshelf {

/// A pick list to print, with boxes to tick and the bolt bag at its end; as many pages as it takes.
///
/// @param paper  "A4", or "pocket": A6, so that four fit on a sheet and one in a chalk bag's
/// pocket.
/// @return  Bytes of the PDF.
/// @throws BadInput  Another paper.
std::string pickPdf(const PickList& list, const std::string& paper);

}  // namespace holdshelf
