// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "proto/query.pb.h"

namespace holdshelf {

/// A range as people write it: "12..20", "12..", "..20", or "14" for 14 ± the number's tolerance.
/// @throws BadInput  It is none of these, or there is no such number.
Range parseRange(const std::string& number, const std::string& text);

/// Sets the rotations of a query from "0..60" or, through zero, "330..30" or "330..390"; "90" is
/// 90 ± 2.5. @throws BadInput  It is none of these.
void setRotation(Query& query, const std::string& text);

}  // namespace holdshelf
