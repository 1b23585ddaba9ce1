// SPDX-License-Identifier: Apache-2.0
#include "catalog/shared_find.h"

#include <algorithm>
#include <set>

#include "catalog/find.h"
#include "catalog/postgres_store.h"
#include "catalog/query_match.h"
#include "catalog/shared_rows.h"

namespace holdshelf {
namespace {

using Shelf = SharedRows::Shelf;

constexpr std::int64_t kSmall = 20'000;  // Holds that are read into memory in a moment.
constexpr std::size_t kFirstWalk = 400;  // Rows that are walked past before anything is known.
constexpr std::size_t kMostWalk = 2500;  // From where on the index is faster.
constexpr std::size_t kMostLooks = 20'000;
constexpr std::size_t kFirstPage = 100, kLargestPage = 1600;
constexpr std::size_t kFewMatches = 10;  // Counted no further where only a hint is wanted.

/// What was found on some shelves, one after the other.
class Gathering {
 public:
  Gathering(SharedRows& rows, const Query& query, std::size_t enough)
      : rows_(rows), query_(query), matcher_(query), enough_(enough) {}

  /// Adds what there is on a shelf, in order, until there is enough. false: it looked too long.
  bool gather(const Shelf& shelf) {
    const std::size_t before = found_.size();
    if (walk(shelf)) return true;
    found_.resize(before);
    const auto keys = rows_.candidates(query_, shelf, kMostLooks);
    return keys ? lookThrough(*keys) : walkFar(shelf);
  }

  /// The same of all holds, those at a site first.
  bool gatherFrom(const std::string& site) {
    const Shelf own{Shelf::Of::Site, site}, others{Shelf::Of::Others, site};
    if (walk(own)) return enough() || gather(others);
    found_.clear();
    // Where few match anywhere, the index is asked once for all.
    if (!walk(others)) {
      found_.clear();
      const auto keys = rows_.candidates(query_, {Shelf::Of::All, site}, kMostLooks);
      if (keys && keys->size() < kMostLooks) return lookThrough(*keys);
    }
    found_.clear();
    return gather(own) && (enough() || gather(others));
  }
  bool enough() const { return found_.size() >= enough_; }
  std::vector<SearchEntry>& found() { return found_; }

 private:
  void look(const HoldRow& row) {
    if (enough()) return;
    SearchEntry entry = searchEntry(row);
    if (matcher_.matches(entry)) found_.push_back(std::move(entry));
  }

  /// Along the rows while so many match that there will soon be enough.
  bool walk(const Shelf& shelf) {
    const std::size_t before = found_.size();
    SharedRows::Place place;
    std::size_t walked = 0;
    for (std::size_t next = kFirstWalk;;) {
      const std::size_t rows =
          rows_.walk(query_, shelf, place, next, [&](const HoldRow& row) { look(row); });
      walked += rows;
      if (enough() || rows < next) return true;
      const auto here = static_cast<double>(found_.size() - before);
      const double wanting = static_cast<double>(enough_ - found_.size());
      const double needed = wanting * static_cast<double>(walked) / std::max(here, 0.5);
      if (static_cast<double>(walked) + needed > kMostWalk) return false;
      next = static_cast<std::size_t>(1.3 * needed) + 1;
    }
  }

  /// Where no index knows what was asked.
  bool walkFar(const Shelf& shelf) {
    SharedRows::Place place;
    for (std::size_t walked = 0; walked < kMostLooks; walked += kLargestPage) {
      const std::size_t rows =
          rows_.walk(query_, shelf, place, kLargestPage, [&](const HoldRow& row) { look(row); });
      if (enough() || rows < kLargestPage) return true;
    }
    return false;
  }

  bool lookThrough(const std::vector<std::int64_t>& keys) {
    std::size_t page = kFirstPage;
    for (std::size_t at = 0; at < keys.size() && !enough();
         page = std::min(4 * page, kLargestPage)) {
      const std::size_t end = std::min(keys.size(), at + page);
      rows_.fetch({keys.begin() + static_cast<std::ptrdiff_t>(at),
                   keys.begin() + static_cast<std::ptrdiff_t>(end)},
                  [&](const HoldRow& row) { look(row); });
      at = end;
    }
    return enough() || keys.size() < kMostLooks;
  }

  SharedRows& rows_;
  const Query& query_;
  QueryMatcher matcher_;
  std::size_t enough_;
  std::vector<SearchEntry> found_;
};

/// Nothing matches: how many would without each limit, counted to a few, and which of those come
/// nearest. nullopt: it takes too long to say.
std::optional<FindResult> explainNone(SharedRows& rows, const Query& query, std::int64_t holds) {
  SearchIndex near;
  std::set<std::string> ids;
  std::string freed;
  for (const auto& [limit, wider] : withoutEachLimit(query)) {
    Gathering gathering(rows, wider, kFewMatches);
    if (!gathering.gather({})) return std::nullopt;
    const std::size_t count = gathering.found().size();
    if (count == 0) continue;
    freed += (freed.empty() ? "" : "; ") + ("without \"" + limit + "\" " + std::to_string(count)) +
             (count == 1 ? " hold" : " holds") + (gathering.enough() ? " or more" : "");
    for (SearchEntry& entry : gathering.found())
      if (ids.insert(entry.id).second) near.add(std::move(entry));
  }
  FindResult result = near.find(query);
  result.set_searched(holds);
  result.set_explanation("None of " + std::to_string(holds) + " holds matches" +
                         (freed.empty() ? ", and no single limit is to blame."
                                        : ": " + freed + "; the nearest of those are shown."));
  return result;
}

}  // namespace

std::optional<FindResult> findInDatabase(const Library& library, const Query& query) {
  auto* store = dynamic_cast<PostgresStore*>(&library.store());
  if (store == nullptr || query.has_lip() || query.limit() <= 0 || query.lab_size() > 0 ||
      !(query.sort().empty() || query.sort() == "id"))
    return std::nullopt;
  const std::int64_t holds = store->lastKey();
  if (holds < kSmall) return std::nullopt;
  SharedRows rows(*store->connection());
  Gathering gathering(rows, query, static_cast<std::size_t>(query.limit()));
  if (!(query.site().empty() ? gathering.gather({}) : gathering.gatherFrom(query.site())))
    return std::nullopt;
  if (gathering.found().empty()) return explainNone(rows, query, holds);
  SearchIndex found;
  for (SearchEntry& entry : gathering.found()) found.add(std::move(entry));
  FindResult result = found.find(query);
  result.set_searched(holds);
  if (gathering.enough())
    result.set_explanation("These are the first that match; there may be more.");
  return result;
}

}  // namespace holdshelf
