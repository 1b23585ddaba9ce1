// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>
#include <vector>

#include "catalog/query_match.h"

namespace holdshelf {

/// Words of 32 bits that say roughly what a hold is, for an inverted index over a large library
/// (GIN, postgres_schema.cpp): its names and all parts of up to three bytes of its name and id, its
/// grip words, each number in steps, the depth, radius and incut of an edge at one and the same
/// rotation as one word, and what hands and feet get at each wall angle. Sorted, each once. Two
/// words may be the same by chance (they are hashes): what an index leaves is held against the
/// query again.
std::vector<std::int32_t> searchMarks(const SearchEntry& entry);

/// A hold that matches a query has all, or at least one, of these marks.
struct MarkLimit {
  enum class Need { All, Any } need = Need::Any;
  std::vector<std::int32_t> marks;
};

/// What the marks of every hold that matches must satisfy; each limit for itself. What marks cannot
/// say (status, rotations, a colour patch), or only by too many of them, is left out.
std::vector<MarkLimit> markLimits(const Query& query);

}  // namespace holdshelf
