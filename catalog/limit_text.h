// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <google/protobuf/repeated_field.h>

#include <string>
#include <utility>
#include <vector>

#include "catalog/hold_numbers.h"
#include "proto/query.pb.h"

namespace holdshelf {

// The limits of a query in words, as near misses and empty answers name them.

/// "12", "12.5", "-0.3".
std::string shortNumber(double value);
/// "12 mm", "12°".
std::string withUnit(double value, const std::string& unit);
/// "red, blue or grey".
std::string anyOf(const google::protobuf::RepeatedPtrField<std::string>& names);

/// The number that holds are searched by under this name.
/// @throws BadInput  There is none; the sentence names those that there are.
const NumberKind& kindOrThrow(const std::string& flag);

/// "12 mm to 20 mm", "12 mm or more", "5 mm or less".
std::string rangeText(const Range& range);
/// Of the grip force, in parts of a jug: "0.40 or more", "0.20 to 0.40".
std::string forceText(const Query& query);
/// "on a vertical wall", "at 35° past vertical", "on a slab of 10°".
std::string wallText(const Query& query);

/// The query without each of its limits in turn, with that limit in words: for saying which one
/// leaves nothing.
std::vector<std::pair<std::string, Query>> withoutEachLimit(const Query& query);

}  // namespace holdshelf
