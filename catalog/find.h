// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>
#include <memory>
#include <set>
#include <string>
#include <unordered_map>
#include <vector>

#include "catalog/library.h"
#include "catalog/lip_index.h"
#include "catalog/query_match.h"
#include "proto/query.pb.h"

namespace holdshelf {

/// All that search reads of a library, in memory: read once, asked many times, from several threads
/// at once. Matching walks all holds in parallel, past most of them by their least and largest
/// numbers; wanted lips go through an exact index (lip_index.h), which is made when the first one
/// is asked for. tests/bench/find_bench.cpp says what that takes.
class SearchIndex {
 public:
  /// Reads the library's search rows.
  explicit SearchIndex(const Library& library);
  /// An index of holds that are in no library, for tests and benchmarks.
  explicit SearchIndex(const std::vector<Hold>& holds);
  SearchIndex();
  SearchIndex(SearchIndex&&) noexcept;
  SearchIndex& operator=(SearchIndex&&) noexcept;
  ~SearchIndex();

  /// Appends a hold. Not while others search.
  void add(SearchEntry entry);
  /// Puts in what a hold has become, or a new hold; searches that run are waited for. Takes
  /// milliseconds, whatever the library's size; lips that are new are tried beside the tree until
  /// they are many (lip_index.h).
  void put(std::vector<SearchEntry> entries);

  /// Holds that match, sorted and cut to the query's limit; with a wanted lip nearest first, unless
  /// the query sorts otherwise. Nothing found is never silent: the result then names the nearest
  /// misses, and the explanation says which limit excludes how many. Where a lip is wanted it also
  /// names the holds whose own are damaged, which are found by all else.
  /// @throws BadInput  The query names a number, sort key, status or hold that does not exist, a
  ///                   range that is empty, or a drawn lip that is none; the sentence says what
  ///                   there is or what to do.
  FindResult find(const Query& query) const;

  std::size_t size() const { return entries_.size(); }
  /// Makes the index of lips now instead of with the first question.
  const LipIndex& lips() const;

 private:
  LipCurve lipLike(const LipQuery& wanted) const;
  std::vector<char> fitting(const QueryMatcher& matcher) const;
  std::size_t countWithLips(const std::vector<char>& fits) const;
  bool likeFits(const LipQuery& wanted, const std::vector<char>& fits) const;
  FindResult findLips(const QueryMatcher& matcher) const;
  void explainNone(const QueryMatcher& matcher, FindResult& result) const;
  void explainFarLips(const QueryMatcher& matcher, const LipProbe& probe, FindResult& result) const;

  void putOne(SearchEntry entry);
  void takeOutDamagedLips(SearchEntry& entry);
  void nameThoseWithoutLips(FindResult& result) const;
  FindResult findNow(const Query& query) const;

  struct Lips;  // The index and whether it is made, and who may search.

  std::vector<SearchEntry> entries_;
  std::vector<std::uint8_t> statuses_;  ///< Of the entries: most are passed over without a look.
  NumberBounds bounds_;                 ///< Of the entries, in their order.
  std::unordered_map<std::string, std::uint32_t> by_id_;
  std::unique_ptr<Lips> lips_;
  std::size_t unretired_with_lips_ = 0;
  std::set<std::string> without_lips_;  ///< Whose lips are damaged: searched by all else.
};

}  // namespace holdshelf
