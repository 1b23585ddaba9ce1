// SPDX-License-Identifier: Apache-2.0
#include "catalog/find.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <limits>
#include <mutex>
#include <set>
#include <shared_mutex>

#include "catalog/hold_record.h"
#include "catalog/limit_text.h"
#include "catalog/lip_probe.h"
#include "catalog/mounting.h"
#include "mesh/bad_input.h"
#include "mesh/pen.h"

namespace holdshelf {
namespace {

constexpr std::size_t kNearestMisses = 3;

/// Value of a number in the rows that answer; NaN where the hold has none.
double chosenValue(const SearchEntry& entry, const ChosenRows& rows, const NumberKind& kind) {
  const auto group = static_cast<std::size_t>(kind.group);
  if (rows.at(group) < 0) return NAN;
  const auto row = static_cast<std::size_t>(rows.at(group));
  return entry.row.numbers.at(group).values.at(row * columnCount(kind.group) + kind.column);
}

/// The numbers that a hit shows: those asked about and sorted by, then what every list shows.
std::vector<const NumberKind*> shownNumbers(const Query& query) {
  std::vector<const NumberKind*> kinds;
  const auto add = [&](const std::string& flag) {
    const NumberKind* kind = numberKind(flag);
    if (kind != nullptr && std::find(kinds.begin(), kinds.end(), kind) == kinds.end())
      kinds.push_back(kind);
  };
  for (const Range& range : query.ranges()) add(range.number());
  add(query.sort().starts_with('-') ? query.sort().substr(1) : query.sort());
  for (const char* flag : {"edge-depth", "lip-radius", "incut", "edge-width", "protrusion"})
    add(flag);
  return kinds;
}

void setUse(const std::optional<MountedUse>& use, FoundUse& found) {
  if (!use) return;
  found.set_fraction(use->fraction);
  found.set_rotation_deg(use->rotation_deg);
}

FindHit hitOf(const QueryMatcher& matcher, const SearchEntry& entry, const ChosenRows& rows) {
  FindHit hit;
  hit.set_id(entry.id);
  hit.set_name(entry.name);
  hit.set_bin(entry.bin);
  hit.set_set(entry.set);
  hit.set_status(entry.status);
  hit.set_colour(entry.colour);
  hit.set_site(entry.site);
  std::set<std::string> words;
  for (const GripWord& word : entry.row.words) words.insert(word.word());
  for (const std::string& word : words) hit.add_words(word);
  const auto grip = static_cast<std::size_t>(NumberGroup::Grip);
  if (rows.at(grip) >= 0)
    hit.set_rotation_deg(matcher.turned_deg(
        entry.row.numbers.at(grip).rotation_deg.at(static_cast<std::size_t>(rows.at(grip)))));
  for (const NumberKind* kind : shownNumbers(matcher.query())) {
    const double value = chosenValue(entry, rows, *kind);
    if (std::isnan(value)) continue;
    FoundNumber& number = *hit.add_numbers();
    number.set_number(kind->flag);
    number.set_value(value);
  }
  setUse(matcher.handUse(entry), *hit.mutable_hand());
  setUse(matcher.footUse(entry), *hit.mutable_foot());
  if (!matcher.handUse(entry)) hit.clear_hand();
  if (!matcher.footUse(entry)) hit.clear_foot();
  return hit;
}

/// H-9 before H-0010 and that before H-10000: by the number at the end where all before it is
/// equal.
bool idBefore(const std::string& a, const std::string& b) {
  const auto cut = [](const std::string& id) {
    const std::size_t words = id.find_last_not_of("0123456789") + 1;  // npos + 1 is 0.
    return std::pair(words, std::min(id.find_first_not_of('0', words), id.size()));
  };
  const auto [a_words, a_number] = cut(a);
  const auto [b_words, b_number] = cut(b);
  if (const int words = a.compare(0, a_words, b, 0, b_words); words != 0) return words < 0;
  const std::size_t a_digits = a.size() - a_number, b_digits = b.size() - b_number;
  if (a_digits != b_digits) return a_digits < b_digits;
  return a.compare(a_number, a_digits, b, b_number, b_digits) < 0;
}

/// Puts the matches in the query's order; holds without the number come last either way.
void sortMatches(const QueryMatcher& matcher, const std::vector<SearchEntry>& entries,
                 std::vector<std::size_t>& matches) {
  std::string key = matcher.query().sort();
  const bool falling = key.starts_with('-');
  if (falling) key.erase(0, 1);
  if (key.empty() && matcher.query().lab_size() == 3) key = "colour-distance";
  if (key == "name") {
    std::stable_sort(matches.begin(), matches.end(), [&](std::size_t x, std::size_t y) {
      return falling ? entries[y].name < entries[x].name : entries[x].name < entries[y].name;
    });
    return;
  }
  if (key.empty()) return;  // As they came in.
  if (key == "id") {
    const auto before = [&](std::size_t x, std::size_t y) {
      return idBefore(entries[x].id, entries[y].id);
    };
    // They mostly came in by their ids.
    if (!std::is_sorted(matches.begin(), matches.end(), before))
      std::stable_sort(matches.begin(), matches.end(), before);
    if (falling) std::reverse(matches.begin(), matches.end());
    return;
  }
  const NumberKind* kind = numberKind(key);
  std::vector<std::pair<double, std::size_t>> keyed;
  for (const std::size_t match : matches) {
    const SearchEntry& entry = entries[match];
    const double value = kind ? chosenValue(entry, matcher.chosenRows(entry), *kind)
                              : matcher.patchDifference(entry);
    keyed.emplace_back(std::isnan(value) ? INFINITY : falling ? -value : value, match);
  }
  std::stable_sort(keyed.begin(), keyed.end(),
                   [](const auto& x, const auto& y) { return x.first < y.first; });
  for (std::size_t i = 0; i < keyed.size(); ++i) matches[i] = keyed[i].second;
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

void SearchIndex::add(SearchEntry entry) {
  bounds_.add(entry.row.numbers);
  lips_->index.add(entry.row.lips);
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
  const std::size_t at = found->second;
  const auto searched = [&] {
    return statuses_[at] != RETIRED && lips_->index.hasLips(at) ? std::size_t{1} : std::size_t{0};
  };
  unretired_with_lips_ -= searched();
  const std::string& lips = entry.row.lips;
  if (lips_->index.packedOf(at) != std::string_view(lips).substr(lips.empty() ? 0 : 1))
    lips_->index.replace(at, lips);
  std::string().swap(entry.row.lips);
  statuses_[at] = static_cast<std::uint8_t>(entry.status);
  bounds_.set(at, entry.row.numbers);
  entries_[at] = std::move(entry);
  unretired_with_lips_ += searched();
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
    throw BadInput("There is no hold " + wanted.like() +
                   " whose lip could be searched for: holdshelf find lists what there is.");
  const std::vector<LipRun> runs = lips_->index.lipsOf(at->second);
  if (runs.empty())
    throw BadInput(wanted.like() +
                   " has no lip that could be searched for: it has no scan, or nothing to hold.");
  const SearchRow& row = entries_[at->second].row;
  double rotation_deg = 0;
  if (wanted.has_like_rotation_deg()) {
    rotation_deg = wanted.like_rotation_deg();
  } else {
    // Where it holds best, else where its edge is deepest.
    const auto hand = mostForce(row.mountings, {});
    const NumberTable& grips = row.numbers.at(static_cast<std::size_t>(NumberGroup::Grip));
    std::size_t deepest = 0;
    for (std::size_t i = 1; i < grips.rows; ++i)
      if (grips.values[i * columnCount(NumberGroup::Grip)] >
          grips.values[deepest * columnCount(NumberGroup::Grip)])
        deepest = i;
    if (hand && hand->fraction > 0)
      rotation_deg = hand->rotation_deg;
    else if (grips.rows > 0)
      rotation_deg = grips.rotation_deg[deepest];
  }
  const auto off = [&](const LipRun& run) {
    return run.meets(rotation_deg, rotation_deg)
               ? -1
               : std::min(angleBetween_deg(run.from_deg(), rotation_deg),
                          angleBetween_deg(run.to_deg(), rotation_deg));
  };
  return std::min_element(runs.begin(), runs.end(),
                          [&](const LipRun& x, const LipRun& y) { return off(x) < off(y); })
      ->curve;
}

LipProbe SearchIndex::probeOf(const LipQuery& wanted) const {
  const int ways = (wanted.like().empty() ? 0 : 1) + (wanted.points_mm().empty() ? 0 : 1) +
                   (wanted.has_radius_mm() ? 1 : 0);
  if (ways != 1)
    throw BadInput(
        "A wanted lip is one of three: that of a hold, a drawn section, or a radius with an "
        "incut.");
  if (!wanted.like().empty()) return probeLike(lipLike(wanted));
  if (wanted.has_radius_mm())
    return probeDrawn(lipOfNumbers(
        wanted.radius_mm(), wanted.incut_deg(),
        wanted.has_depth_mm() ? std::optional<double>(wanted.depth_mm()) : std::nullopt));
  SectionPath path;
  for (const Point2& p : wanted.points_mm()) path.emplace_back(p.y(), p.x());
  return probeDrawn(std::move(path));
}

void SearchIndex::addLipHit(const QueryMatcher& matcher, const LipProbe& probe,
                            const LipFound& found, FindHit& hit) const {
  const SearchEntry& entry = entries_[found.hold];
  hit = hitOf(matcher, entry, matcher.chosenRows(entry, &found.run));
  hit.set_rotation_deg(matcher.turned_deg(found.run.middle_deg()));
  LipMatch& match = *hit.mutable_lip();
  const LipOverlay laid = overlay(probe[found.placement], found.run.curve);
  match.set_gap_mm(laid.gap_mm);
  match.set_gap_95_mm(laid.gap_95_mm);
  match.set_from_deg(matcher.turned_deg(found.run.from_deg()));
  match.set_to_deg(match.from_deg() + found.run.to_deg() - found.run.from_deg());
  const auto add = [](const Eigen::Vector2f& p, Point2& point) {
    point.set_x(p.y());
    point.set_y(p.x());
  };
  for (const auto& p : laid.wanted_mm) add(p, *match.add_wanted_mm());
  for (const auto& p : laid.found_mm) add(p, *match.add_found_mm());
  add(laid.shift_mm, *match.mutable_shift_mm());
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
  const LipProbe probe = probeOf(wanted);
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
  for (const LipFound& f : found) addLipHit(matcher, probe, f, *result.add_hits());
  if (found.empty()) explainFarLips(matcher, probe, result);
  return result;
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
    addLipHit(matcher, probe, best, miss);
    *miss.mutable_excluded_by() = reasons;
    if (reasons.empty())
      miss.add_excluded_by(miss.id() == matcher.query().lip().like()
                               ? "is the one whose lip is wanted"
                               : "not with its lip at the rotations asked for");
  }
}

std::vector<std::size_t> SearchIndex::nearestMisses(const QueryMatcher& matcher) const {
  using Near = std::pair<double, std::size_t>;
  std::vector<Near> nearest;
  std::atomic<double> limit = std::numeric_limits<double>::infinity();
  std::mutex mutex;
  tbb::parallel_for(std::size_t{0}, entries_.size(), [&](std::size_t i) {
    if (matcher.missAtLeast(entries_[i], bounds_, i) > limit) return;
    const Near near{matcher.missDistance(entries_[i]), i};
    if (near.first > limit) return;
    const std::lock_guard lock(mutex);
    nearest.insert(std::upper_bound(nearest.begin(), nearest.end(), near), near);
    if (nearest.size() > kNearestMisses) nearest.pop_back();
    if (nearest.size() == kNearestMisses) limit = nearest.back().first;
  });
  std::vector<std::size_t> entries;
  for (const Near& near : nearest) entries.push_back(near.second);
  return entries;
}

void SearchIndex::explainNone(const QueryMatcher& matcher, FindResult& result) const {
  if (entries_.empty()) {
    result.set_explanation("The library is empty: put a hold in with holdshelf intake.");
    return;
  }
  for (const std::size_t entry : nearestMisses(matcher)) {
    const QueryMatcher::Miss miss = matcher.miss(entries_[entry]);
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
