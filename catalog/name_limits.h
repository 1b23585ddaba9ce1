// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "catalog/search_entry.h"
#include "proto/query.pb.h"

namespace holdshelf {

// The limits of a query on what a hold is called and where it is. A limit that the query does not
// set fits every hold.

/// A name as queries compare it: with a to z for A to Z, all other letters as they are.
std::string caseless(std::string text);

/// Whether the name is one of these, caseless.
bool isAmong(const google::protobuf::RepeatedPtrField<std::string>& names, const std::string& name);

/// "red" stands for every red; "vivid red" only for itself.
bool colourNameFits(const Query& query, const std::string& colour);

/// Where the query names no status, every hold that is not retired fits.
bool statusFits(const Query& query, Status status);

/// Part of the name or of the id, caseless.
bool textFits(const Query& query, const SearchEntry& entry);

/// Bin, set and site.
bool placeFits(const Query& query, const SearchEntry& entry);

}  // namespace holdshelf
