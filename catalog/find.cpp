// SPDX-License-Identifier: Apache-2.0
#include "catalog/find.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <mutex>
#include <optional>
#include <shared_mutex>

#include "catalog/found_hit.h"
#include "catalog/hit_order.h"
#include "catalog/limit_text.h"
#include "catalog/lip_probe.h"
#include "catalog/lost_file.h"
#include "catalog/nearest_misses.h"
#include "catalog/query_miss.h"
#include "catalog/shown_text.h"
#include "catalog/wanted_lip.h"
#include "mesh/bad_input.h"
#include "mesh/pen.h"

namespace holdshelf {
namespace {

constexpr std::size_t kNearestMisses = 3;

/// Whether they are of the size that packLips gives them.
bool areWhole(const std::string& packed) {
  return packed.empty() ||
         packed.size() == 1 + static_cast<unsigned char>(packed.front()) * kPackedRun;
}

std::string counted(std::size_t count) {
  return count == 1 ? "1 hold" : std::to_string(count) + " holds";
}

}  // namespace

struct SearchIndex::Lips {
  LipIndex index;
  std::once_flag made;
  std::shared_mutex changing;  // Of all of the search index.
  std::mutex door;             // A change that waits holds it, so that no searches get in before.
};

SearchIndex::SearchIndex() : lips_(std::make_unique<Lips>()) {}
SearchIndex::SearchIndex(SearchIndex&&) noexcept = default;
SearchIndex& SearchIndex::operator=(SearchIndex&&) noexcept = default;
SearchIndex::~SearchIndex() = default;

SearchIndex::SearchIndex(const Library& library) : SearchIndex() {
  library.store().forEachHold(LibraryStore::HoldPart::Search,
                              [this](const HoldRow& row) { add(searchEntry(row)); });
}

SearchIndex::SearchIndex(const std::vector<Hold>& holds) : SearchIndex() {
  for (const Hold& hold : holds) add(searchEntry(hold));
}

void SearchIndex::takeOutDamagedLips(SearchEntry& entry) {
  without_lips_.erase(entry.id);
  if (areWhole(entry.row.lips)) return;
  without_lips_.insert(entry.id);
  entry.row.lips.clear();
}

void SearchIndex::add(SearchEntry entry) {
  takeOutDamagedLips(entry);
  lips_->index.add(entry.row.lips);  // Before all else, as it may refuse them.
  bounds_.add(entry.row.numbers);
  if (!entry.row.lips.empty() && entry.row.lips.front() != 0 && entry.status != RETIRED)
    ++unretired_with_lips_;
  std::string().swap(entry.row.lips);  // The lip index keeps them.
  by_id_.emplace(entry.id, static_cast<std::uint32_t>(entries_.size()));
  statuses_.push_back(static_cast<std::uint8_t>(entry.status));
  entries_.push_back(std::move(entry));
}

void SearchIndex::put(std::vector<SearchEntry> entries) {
  const std::lock_guard door(lips_->door);
  const std::unique_lock lock(lips_->changing);
  for (SearchEntry& entry : entries) putOne(std::move(entry));
}

void SearchIndex::putOne(SearchEntry entry) {
  const auto found = by_id_.find(entry.id);
  if (found == by_id_.end()) return add(std::move(entry));
  takeOutDamagedLips(entry);
  const std::size_t at = found->second;
  const auto searched = [&] {
    return statuses_[at] != RETIRED && lips_->index.hasLips(at) ? std::size_t{1} : std::size_t{0};
  };
  const std::size_t before = searched();
  const std::string& lips = entry.row.lips;
  if (lips_->index.packedOf(at) != std::string_view(lips).substr(lips.empty() ? 0 : 1))
    lips_->index.replace(at, lips);
  std::string().swap(entry.row.lips);
  statuses_[at] = static_cast<std::uint8_t>(entry.status);
  bounds_.set(at, entry.row.numbers);
  entries_[at] = std::move(entry);
  unretired_with_lips_ = unretired_with_lips_ - before + searched();
}

const LipIndex& SearchIndex::lips() const {
  std::call_once(lips_->made, [&] { lips_->index.build(); });
  return lips_->index;
}

std::vector<char> SearchIndex::fitting(const QueryMatcher& matcher) const {
  std::vector<char> fits(entries_.size());
  tbb::parallel_for(std::size_t{0}, entries_.size(), [&](std::size_t i) {
    fits[i] = matcher.matches(entries_[i], static_cast<Status>(statuses_[i]), bounds_, i) ? 1 : 0;
  });
  return fits;
}

FindResult SearchIndex::find(const Query& query) const {
  std::unique_lock door(lips_->door);
  const std::shared_lock lock(lips_->changing);
  door.unlock();
  return findNow(query);
}

FindResult SearchIndex::findNow(const Query& query) const {
  const QueryMatcher matcher(query);
  if (query.has_lip()) return findLips(matcher);
  const std::vector<char> fits = fitting(matcher);
  std::vector<std::size_t> matches;
  for (std::size_t i = 0; i < fits.size(); ++i)
    if (fits[i] != 0) matches.push_back(i);
  sortMatches(matcher, entries_, matches);
  if (!query.site().empty())  // Their own shelf first, in that order, then what others have.
    std::stable_partition(matches.begin(), matches.end(),
                          [&](std::size_t i) { return entries_[i].site == query.site(); });

  FindResult result;
  result.set_searched(static_cast<std::int64_t>(entries_.size()));
  result.set_matched(static_cast<std::int64_t>(matches.size()));
  if (query.limit() > 0 && matches.size() > static_cast<std::size_t>(query.limit()))
    matches.resize(static_cast<std::size_t>(query.limit()));
  for (const std::size_t match : matches)
    *result.add_hits() = hitOf(matcher, entries_[match], matcher.shownRows(entries_[match]));
  if (result.matched() == 0) explainNone(matcher, result);
  return result;
}

LipCurve SearchIndex::lipLike(const LipQuery& wanted) const {
  const auto at = by_id_.find(wanted.like());
  if (at == by_id_.end())
    throw BadInput("There is no hold " + givenStart(wanted.like(), 40) +
                   " whose lip could be searched for: holdshelf find lists what there is.");
  const std::vector<LipRun> runs = lips_->index.lipsOf(at->second);
  if (runs.empty())
    throw BadInput(wanted.like() +
                   " has no lip that could be searched for: it has no scan, or nothing to hold.");
  return standingLip(entries_[at->second].row, runs,
                     wanted.has_like_rotation_deg()
                         ? std::optional<double>(wanted.like_rotation_deg())
                         : std::nullopt);
}

std::size_t SearchIndex::countWithLips(const std::vector<char>& fits) const {
  if (fits.empty()) return unretired_with_lips_;
  std::size_t count = 0;
  for (std::size_t i = 0; i < fits.size(); ++i)
    count += fits[i] != 0 && lips_->index.hasLips(i) ? 1U : 0U;
  return count;
}

bool SearchIndex::likeFits(const LipQuery& wanted, const std::vector<char>& fits) const {
  const auto at = by_id_.find(wanted.like());
  if (at == by_id_.end()) return false;
  return fits.empty() ? entries_[at->second].status != RETIRED : fits[at->second] != 0;
}

FindResult SearchIndex::findLips(const QueryMatcher& matcher) const {
  const Query& query = matcher.query();
  const LipQuery& wanted = query.lip();
  const LipIndex& lips = this->lips();
  const LipProbe probe = probeOf(wanted, [&] { return lipLike(wanted); });
  const std::vector<char> fits = matcher.limitsMore() ? fitting(matcher) : std::vector<char>();
  const auto fitsAtAll = [&](std::size_t hold) {
    return fits.empty() ? statuses_[hold] != RETIRED : fits[hold] != 0;
  };
  const auto counts = [&](std::uint32_t hold, const LipRun& run) {
    return fitsAtAll(hold) && entries_[hold].id != wanted.like() &&
           matcher.lipMayCount(entries_[hold], run);
  };
  const auto limit = static_cast<std::size_t>(std::max(0, query.limit()));
  const bool within = wanted.within_mm() > 0;
  // Other orders and counts need all that match; nearest first only so many.
  const bool all = within || !query.sort().empty() || limit == 0;
  std::vector<LipFound> found =
      lips.nearest(probe, all ? 0 : limit, within ? wanted.within_mm() : 1e9, counts);

  FindResult result;
  result.set_searched(static_cast<std::int64_t>(entries_.size()));
  std::size_t matched = found.size();
  if (!all && found.size() == limit)
    matched = countWithLips(fits) - (likeFits(wanted, fits) ? 1 : 0);
  result.set_matched(static_cast<std::int64_t>(matched));
  if (!query.sort().empty()) {
    std::vector<std::size_t> order;
    std::unordered_map<std::size_t, LipFound> by_hold;
    for (const LipFound& f : found) order.push_back(f.hold), by_hold[f.hold] = f;
    std::sort(order.begin(), order.end());
    sortMatches(matcher, entries_, order);
    for (std::size_t i = 0; i < order.size(); ++i) found[i] = by_hold[order[i]];
  }
  if (limit > 0 && found.size() > limit) found.resize(limit);
  for (const LipFound& f : found)
    *result.add_hits() = lipHitOf(matcher, entries_[f.hold], probe, f);
  if (found.empty()) explainFarLips(matcher, probe, result);
  nameThoseWithoutLips(result);
  return result;
}

void SearchIndex::nameThoseWithoutLips(FindResult& result) const {
  const std::string text = lipsLeftOutText({without_lips_.begin(), without_lips_.end()});
  if (text.empty()) return;
  result.set_explanation(result.explanation() + (result.explanation().empty() ? "" : " ") + text);
}

void SearchIndex::explainFarLips(const QueryMatcher& matcher, const LipProbe& probe,
                                 FindResult& result) const {
  // Without the lip's own limit: which holds come nearest among those that meet all others?
  Query wider = matcher.query();
  wider.mutable_lip()->clear_within_mm();
  wider.clear_sort();
  wider.set_limit(kNearestMisses);
  if (wider.lip().within_mm() != matcher.query().lip().within_mm()) {
    FindResult near = findLips(QueryMatcher(wider));
    if (near.matched() > 0) {
      const double within_mm = matcher.query().lip().within_mm();
      for (FindHit& hit : *near.mutable_hits()) {
        hit.add_excluded_by("lip " + fixed(hit.lip().gap_mm(), 2) + " mm apart, not " +
                            fixed(within_mm, 2) + " mm or less");
        *result.add_nearest_misses() = std::move(hit);
      }
      result.set_explanation("None of " + counted(entries_.size()) +
                             " matches: without \"lip within " + fixed(within_mm, 2) + " mm\" " +
                             counted(static_cast<std::size_t>(near.matched())) + ".");
      return;
    }
  }
  explainNone(matcher, result);
  // Their lips, wherever they are, so that one sees what the other limits cost.
  for (FindHit& miss : *result.mutable_nearest_misses()) {
    const auto hold = by_id_.at(miss.id());
    LipFound best{hold, {}, 0, 1e300};
    for (const LipRun& run : lips().lipsOf(hold)) {
      const auto [placement, gap_mm] = bestPlacement(probe, run.curve);
      if (gap_mm < best.gap_mm) best = {hold, run, placement, gap_mm};
    }
    if (best.gap_mm == 1e300) {
      miss.add_excluded_by("has no lip");
      continue;
    }
    const auto reasons = miss.excluded_by();
    miss = lipHitOf(matcher, entries_[best.hold], probe, best);
    *miss.mutable_excluded_by() = reasons;
    if (reasons.empty())
      miss.add_excluded_by(miss.id() == matcher.query().lip().like()
                               ? "is the one whose lip is wanted"
                               : "not with its lip at the rotations asked for");
  }
}

void SearchIndex::explainNone(const QueryMatcher& matcher, FindResult& result) const {
  if (entries_.empty()) {
    result.set_explanation("The library is empty: put a hold in with holdshelf intake.");
    return;
  }
  for (const std::size_t entry : nearestMisses(matcher, entries_, bounds_, kNearestMisses)) {
    const QueryMiss miss = missOf(matcher, entries_[entry]);
    FindHit& hit = *result.add_nearest_misses();
    hit = hitOf(matcher, entries_[entry], miss.rows);
    for (const std::string& reason : miss.reasons) hit.add_excluded_by(reason);
  }
  std::string freed;
  for (const auto& [limit, query] : withoutEachLimit(matcher.query())) {
    const std::vector<char> fits = fitting(QueryMatcher(query));
    const auto count = static_cast<std::size_t>(std::count(fits.begin(), fits.end(), 1));
    if (count > 0)
      freed += (freed.empty() ? "" : "; ") + ("without \"" + limit + "\" " + counted(count));
  }
  result.set_explanation(
      "None of " + counted(entries_.size()) + " matches" +
      (freed.empty() ? ", and no single limit is to blame." : ": " + freed + "."));
}

}  // namespace holdshelf
