// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstddef>
#include <string>

namespace holdshelf {

/// Least number of letters to insert, drop or change that make one word the other, for "did you
/// mean". Bytes, not characters: a word's umlaut counts as two.
///
/// Source: Levenshtein V I, "Binary codes capable of correcting deletions, insertions, and
/// reversals", Soviet Physics Doklady 10, 1966.
std::size_t editDistance(const std::string& a, const std::string& b);

}  // namespace holdshelf
