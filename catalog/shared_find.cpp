// SPDX-License-Identifier: Apache-2.0
#include "catalog/shared_find.h"

#include <algorithm>
#include <set>

#include "catalog/find.h"
#include "catalog/limit_text.h"
#include "catalog/postgres_store.h"
#include "catalog/query_match.h"
#include "catalog/shared_rows.h"

namespace holdshelf {
namespace {

using Shelf = SharedRows::Shelf;

constexpr std::size_t kFirstPage = 100, kLargestPage = 1600;
constexpr std::size_t kFewMatches = 10;  // Counted no further where only a hint is wanted,
constexpr std::size_t kFewLooks = 200;   // nor looked for.

/// What was found on some shelves, one after the other.
class Gathering {
 public:
  Gathering(SharedRows& rows, const Query& query, std::size_t enough, const SearchPace& pace)
      : rows_(rows), query_(query), matcher_(query), enough_(enough), pace_(pace) {}

  /// Adds what there is on a shelf, in order, until there is enough. false: it looked too long.
  bool gather(const Shelf& shelf) {
    const std::size_t before = found_.size();
    if (walk(shelf)) return true;
    found_.resize(before);
    const auto keys = rows_.candidates(query_, shelf, pace_.most_looks);
    return keys ? lookThrough(*keys) : walkFar(shelf);
  }

  /// The same of all holds, those at a site first.
  bool gatherFrom(const std::string& site) {
    const Shelf own{Shelf::Of::Site, site}, others{Shelf::Of::Others, site};
    if (walk(own)) return enough() || gather(others);
    found_.clear();
    if (!walk(others)) {  // Few match anywhere: the index is asked once for all.
      found_.clear();
      if (const auto keys = rows_.candidates(query_, {Shelf::Of::All, site}, pace_.most_looks))
        return lookThrough(*keys);
    }
    found_.clear();
    return gather(own) && (enough() || gather(others));
  }

  /// Any that match, wherever they are. false: there may be more.
  bool glean() {
    if (walk({})) return !enough();
    found_.clear();
    const auto keys = rows_.candidates(query_, {}, kFewLooks, false);
    return keys && lookThrough(*keys) && !enough() && keys->size() < kFewLooks;
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
    for (std::size_t next = pace_.first_walk;;) {
      const std::size_t rows =
          rows_.walk(query_, shelf, place, next, [&](const HoldRow& row) { look(row); });
      walked += rows;
      if (enough() || rows < next) return true;
      const auto here = static_cast<double>(found_.size() - before);
      const double wanting = static_cast<double>(enough_ - found_.size());
      const double needed = wanting * static_cast<double>(walked) / std::max(here, 0.5);
      if (static_cast<double>(walked) + needed > static_cast<double>(pace_.most_walk)) return false;
      next = static_cast<std::size_t>(1.3 * needed) + 1;
    }
  }

  /// Where no index knows what was asked.
  bool walkFar(const Shelf& shelf) {
    SharedRows::Place place;
    for (std::size_t walked = 0; walked < pace_.most_looks; walked += kLargestPage) {
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
    return enough() || keys.size() < pace_.most_looks;
  }

  SharedRows& rows_;
  const Query& query_;
  QueryMatcher matcher_;
  std::size_t enough_;
  const SearchPace& pace_;
  std::vector<SearchEntry> found_;
};

/// Nothing matches: how many would without each limit, counted to a few, and the nearest of those.
FindResult explainNone(SharedRows& rows, const Query& query, std::int64_t holds,
                       const SearchPace& pace) {
  SearchIndex near;
  std::set<std::string> ids;
  std::string freed;
  bool all_known = true;
  for (const auto& [limit, wider] : withoutEachLimit(query)) {
    Gathering gathering(rows, wider, kFewMatches, pace);
    const bool known = gathering.glean();
    const std::size_t count = gathering.found().size();
    all_known = all_known && known;
    if (count == 0) continue;
    freed += (freed.empty() ? "" : "; ") + ("without \"" + limit + "\" " + std::to_string(count)) +
             (count == 1 ? " hold" : " holds") + (known ? "" : " or more");
    for (SearchEntry& entry : gathering.found())
      if (ids.insert(entry.id).second) near.add(std::move(entry));
  }
  FindResult result = near.find(query);
  result.set_searched(holds);
  result.set_explanation("None of " + std::to_string(holds) + " holds matches" +
                         (!freed.empty() ? ": " + freed + "; the nearest of those are shown."
                          : all_known    ? ", and no single limit is to blame."
                                         : "."));
  return result;
}

}  // namespace

std::optional<FindResult> findInDatabase(const Library& library, const Query& query,
                                         const SearchPace& pace) {
  auto* store = dynamic_cast<PostgresStore*>(&library.store());
  if (store == nullptr || query.has_lip() || query.limit() <= 0 || query.lab_size() > 0 ||
      !(query.sort().empty() || query.sort() == "id"))
    return std::nullopt;
  const std::int64_t holds = store->lastKey();
  if (holds < pace.small) return std::nullopt;
  SharedRows rows(*store->connection());
  Gathering gathering(rows, query, static_cast<std::size_t>(query.limit()), pace);
  if (!(query.site().empty() ? gathering.gather({}) : gathering.gatherFrom(query.site())))
    return std::nullopt;
  if (gathering.found().empty()) return explainNone(rows, query, holds, pace);
  SearchIndex found;
  for (SearchEntry& entry : gathering.found()) found.add(std::move(entry));
  FindResult result = found.find(query);
  result.set_searched(holds);
  if (gathering.enough())
    result.set_explanation("These are the first that match; there may be more.");
  return result;
}

}  // namespace holdshelf
