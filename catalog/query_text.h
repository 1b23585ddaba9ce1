// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

#include "proto/query.pb.h"

namespace holdshelf {

/// A finite number in plain digits, "+" allowed; nullopt when the text is anything else.
std::optional<double> parseNumber(std::string_view text);

/// A range as people write it: "12..20", "12..", "..20", "14±1" (or "14+-1"), or "14" for 14 ± the
/// number's tolerance.
/// @throws BadInput  It is none of these, or there is no such number.
Range parseRange(const std::string& number, const std::string& text);

/// Sets the rotations of a query from "0..60" or, through zero, "330..30" or "330..390"; "90" is
/// 90 ± 2.5. @throws BadInput  It is none of these.
void setRotation(Query& query, const std::string& text);

/// Sets a drawn lip from text: a JSON LipQuery with points_mm, or one point a line as two numbers,
/// mm away from the wall and mm up against the pull; # begins a remark.
/// @param what  Names the text in errors.
/// @throws BadInput  It is neither; the sentence names the line.
void setDrawnLip(LipQuery& lip, const std::string& text, const std::string& what);

/// Sets a wanted lip from "H-0123", "H-0123@30" (its lip at that rotation). @throws BadInput
void setLipLike(LipQuery& lip, const std::string& text);

}  // namespace holdshelf
