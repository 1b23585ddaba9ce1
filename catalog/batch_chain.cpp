// SPDX-License-Identifier: Apache-2.0
#include "catalog/batch_chain.h"

#include <algorithm>
#include <utility>

#include "catalog/hold_record.h"
#include "catalog/library_merge.h"
#include "catalog/readable_events.h"

namespace holdshelf {
namespace {

using Names = std::vector<std::string>;

/// Which batches follow on which ("": those that follow on none).
std::map<std::string, Names> successorsIn(const StoredBatches& batches) {
  std::map<std::string, Names> next;
  for (const auto& [name, batch] : batches) next[batch.previous()].push_back(name);
  return next;
}

/// What a database says of the history, as far as it can be read.
struct Told {
  Names listed;
  bool list_is_whole = true, events_are_whole = true;
  std::map<std::int64_t, std::string> digests;  // Of events, by their numbers.

  explicit Told(LibraryStore& database) {
    try {
      listed = database.batches();
    } catch (const StoreError& failure) {
      if (!failure.isDamage()) throw;
      list_is_whole = false;
    }
    events_are_whole = forEachReadableEvent(database, [&](const Event& event) {
      digests[event.number()] = sha256Hex(event.SerializeAsString());
    });
  }

  enum class Verdict { Stored, Unknown, False };
  Verdict verdictOn(const Batch& batch) const {
    Verdict verdict = Verdict::Stored;
    for (const Event& event : batch.events()) {
      const auto digest = digests.find(event.number());
      if (digest == digests.end())
        verdict = Verdict::Unknown;
      else if (digest->second != sha256Hex(event.SerializeAsString()))
        return Verdict::False;
    }
    return verdict;
  }
};

/// One way through the batches, and what it tells of another.
class Path {
 public:
  /// @param whole  The last batch was stored, too; else it may be one that was cut off.
  Path(const StoredBatches& batches, Names names, bool whole)
      : batches_(batches), names_(std::move(names)), stored_(names_.size() - (whole ? 0 : 1)) {
    for (const std::string& name : names_)
      for (const Event& event : batches_.at(name).events()) events_[event.number()] = &event;
  }

  const Names& names() const { return names_; }
  /// Events that were stored for certain.
  std::size_t stored() const {
    if (stored_ == names_.size()) return events_.size();
    return events_.size() - static_cast<std::size_t>(batches_.at(names_.back()).events_size());
  }
  /// Whether all events of the other that were stored for certain are in this one, too.
  bool saysAllStoredOf(const Path& other) const { return saysAllOf(other, other.stored_); }
  bool saysAllOf(const Path& other) const { return saysAllOf(other, other.names_.size()); }
  /// Time of the latest event in its last batch.
  std::string latest() const {
    std::string latest;
    for (const Event& event : batches_.at(names_.back()).events())
      latest = std::max(latest, event.at());
    return latest;
  }

 private:
  bool saysAllOf(const Path& other, std::size_t batches) const {
    for (std::size_t i = 0; i < batches; ++i)
      for (const Event& event : batches_.at(other.names_[i]).events())
        if (!says(event)) return false;
    return true;
  }
  bool says(const Event& event) const {
    const auto own = events_.find(event.number());
    return own != events_.end() && own->second->SerializeAsString() == event.SerializeAsString();
  }

  const StoredBatches& batches_;
  Names names_;
  std::size_t stored_;  // Batches.
  std::map<std::int64_t, const Event*> events_;
};

/// Of two ways that begin after the same batch, whether the first is the better history.
bool isBetter(const Path& one, const Path& other) {
  if (one.saysAllOf(other) != other.saysAllOf(one)) return one.saysAllOf(other);
  const bool all = one.saysAllStoredOf(other), all_over_there = other.saysAllStoredOf(one);
  if (all != all_over_there) return all;
  if (one.stored() != other.stored()) {
    // What says all that is stored in the other without being followed itself is a repair's.
    return all ? one.stored() < other.stored() : one.stored() > other.stored();
  }
  return one.latest() > other.latest();
}

/// Finds the history among batches that follow on each other.
class History {
 public:
  /// @param told              May be null: no database tells.
  /// @param listed_elsewhere  Stored, though nothing may follow on them.
  History(const StoredBatches& batches, const Told* told,
          const std::set<std::string>& listed_elsewhere)
      : batches_(batches),
        next_(successorsIn(batches)),
        told_(told),
        listed_elsewhere_(listed_elsewhere) {}

  /// The best way from a batch ("": from the beginning) on, without that batch.
  Names after(std::string last) const {
    Names names;
    for (;;) {
      const Names open = believable(last);
      if (open.empty()) return names;
      const Names way = open.size() == 1 ? open : bestOf(open);
      names.insert(names.end(), way.begin(), way.end());
      if (way.size() > 1) return names;  // To its end.
      last = names.back();
    }
  }

  /// The way to the farthest batch that the database lists, as far as batches are stored.
  Names listed() const {
    std::map<std::string, std::size_t> depth;  // Of all that lead back to the beginning.
    for (Names open = {""}; !open.empty();) {
      const std::string last = std::move(open.back());
      open.pop_back();
      const std::size_t at = last.empty() ? 0 : depth.at(last);
      for (const std::string& name : following(last)) {
        depth[name] = at + 1;
        open.push_back(name);
      }
    }
    std::string farthest;
    for (const std::string& name : told_->listed)
      if (depth.count(name) > 0 && (farthest.empty() || depth[name] > depth[farthest]))
        farthest = name;
    Names way;
    for (; !farthest.empty(); farthest = batches_.at(farthest).previous()) way.push_back(farthest);
    std::reverse(way.begin(), way.end());
    return way;
  }

  /// Adds the batches whose events the database has, whatever it lists.
  void addStored(Names& chain) const {
    for (;;) {
      std::string next;  // Of several the one with most: what was cut off may be its beginning.
      for (const std::string& name : following(chain.empty() ? "" : chain.back()))
        if (told_->verdictOn(batches_.at(name)) == Told::Verdict::Stored &&
            (next.empty() || batches_.at(name).events_size() > batches_.at(next).events_size()))
          next = name;
      if (next.empty()) return;
      chain.push_back(next);
    }
  }

 private:
  const Names& following(const std::string& name) const {
    static const Names kNone;
    const auto next = next_.find(name);
    return next == next_.end() ? kNone : next->second;
  }

  Names believable(const std::string& last) const {
    Names names;
    for (const std::string& name : following(last))
      if (told_ == nullptr || told_->verdictOn(batches_.at(name)) != Told::Verdict::False)
        names.push_back(name);
    return names;
  }

  /// The best of several ways, to its end.
  Names bestOf(const Names& beginnings) const {
    std::optional<Path> best;
    for (const std::string& name : beginnings) {
      Names way = after(name);
      way.insert(way.begin(), name);
      const bool whole = listed_elsewhere_.count(way.back()) > 0;
      Path path(batches_, std::move(way), whole);
      if (!best || isBetter(path, *best)) best.emplace(std::move(path));
    }
    return best->names();
  }

  const StoredBatches& batches_;
  std::map<std::string, Names> next_;
  const Told* told_;
  const std::set<std::string>& listed_elsewhere_;
};

std::set<std::string> originsOf(const std::vector<Event>& events) {
  std::set<std::string> origins;
  for (const Event& event : events) origins.insert(originOf(event));
  return origins;
}

/// What a batch and all that follow on it say that is not known; nothing where only leaves do.
SideBranch branchFrom(const std::string& begin, const StoredBatches& batches,
                      const std::map<std::string, Names>& next, const std::set<std::string>& known,
                      const std::set<std::string>& listed_elsewhere) {
  SideBranch branch;
  bool stored = false;
  for (Names open = {begin}; !open.empty();) {
    const std::string name = std::move(open.back());
    open.pop_back();
    const auto following = next.find(name);
    if (following != next.end())
      open.insert(open.end(), following->second.begin(), following->second.end());
    const auto& its = batches.at(name).events();
    const auto unknown = std::count_if(its.begin(), its.end(), [&](const Event& event) {
      return known.count(originOf(event)) == 0;
    });
    if (unknown == 0) continue;
    if (branch.first.empty()) branch.first = name;
    ++branch.batches;
    branch.events += static_cast<std::size_t>(unknown);
    stored = stored || following != next.end() || listed_elsewhere.count(name) > 0;
  }
  return stored ? branch : SideBranch();
}

}  // namespace

std::optional<Batch> asBatch(const std::string& bytes) {
  // Only its two fields' tags can begin a batch; no mesh, picture or JSON begins with either.
  if (bytes.empty() || (bytes.front() != '\x0a' && bytes.front() != '\x12')) return std::nullopt;
  if (bytes.front() == '\x0a' &&  // The name of the batch before: 64 hexadecimal digits.
      (bytes.size() < 66 || bytes[1] != 64 ||
       bytes.substr(2, 64).find_first_not_of("0123456789abcdef") != std::string::npos))
    return std::nullopt;
  Batch batch;
  if (!batch.ParseFromString(bytes) || batch.events().empty()) return std::nullopt;
  for (const Event& event : batch.events())
    if (event.number() <= 0 || subjectOf(event).empty() || event.at().empty()) return std::nullopt;
  return batch;
}

std::optional<std::vector<std::string>> listedChain(const StoredBatches& batches,
                                                    LibraryStore& database) {
  std::vector<std::string> chain;
  try {
    for (const std::string& name : database.batches()) {
      const auto batch = batches.find(name);
      if (batch == batches.end() || batch->second.previous() != (chain.empty() ? "" : chain.back()))
        return std::nullopt;
      chain.push_back(batch->first);
    }
  } catch (const StoreError& failure) {
    if (!failure.isDamage()) throw;
    return std::nullopt;
  }
  return chain;
}

std::vector<std::string> chainOf(const StoredBatches& batches, LibraryStore* database,
                                 const std::set<std::string>& listed_elsewhere) {
  if (database == nullptr) return History(batches, nullptr, listed_elsewhere).after("");
  if (auto listed = listedChain(batches, *database))
    if (successorsIn(batches).count(listed->empty() ? "" : listed->back()) == 0) return *listed;
  const Told told(*database);
  const History history(batches, &told, listed_elsewhere);
  Names chain = history.listed();
  const bool lists_its_end =
      told.list_is_whole &&
      (told.listed.empty() ? told.events_are_whole
                           : !chain.empty() && chain.back() == told.listed.back());
  history.addStored(chain);
  // What it lists behind these is lost, and only its own events can tell what that was.
  if (told.list_is_whole && told.events_are_whole && !lists_its_end) return chain;
  const Names beyond = history.after(chain.empty() ? "" : chain.back());
  if (beyond.empty()) return chain;
  const bool knows_its_end = lists_its_end || told.events_are_whole;
  if (beyond.size() > 1 || !knows_its_end || listed_elsewhere.count(beyond.back()) > 0)
    chain.insert(chain.end(), beyond.begin(), beyond.end());
  return chain;
}

std::vector<std::string> rivalsOf(const StoredBatches& batches,
                                  const std::vector<std::string>& chain) {
  Names rivals;
  if (chain.empty()) return rivals;
  const auto next = successorsIn(batches);
  const Path last(batches, {chain.back()}, false);
  for (const std::string& name : next.at(batches.at(chain.back()).previous()))
    if (next.count(name) == 0 && !last.saysAllOf(Path(batches, {name}, false)))
      rivals.push_back(name);
  return rivals;
}

std::vector<SideBranch> sideBranches(const StoredBatches& batches,
                                     const std::vector<std::string>& chain,
                                     const std::vector<Event>& events,
                                     const std::set<std::string>& listed_elsewhere) {
  const auto next = successorsIn(batches);
  const std::set<std::string> counted(chain.begin(), chain.end());
  std::set<std::string> origins;  // Found out only where there is a branch.
  std::vector<SideBranch> branches;
  for (std::size_t at = 0; at <= chain.size(); ++at) {
    const auto following = next.find(at == 0 ? "" : chain[at - 1]);
    if (following == next.end()) continue;
    for (const std::string& name : following->second) {
      if (counted.count(name) > 0) continue;
      if (next.count(name) == 0 && listed_elsewhere.count(name) == 0) continue;
      if (origins.empty()) origins = originsOf(events);
      SideBranch branch = branchFrom(name, batches, next, origins, listed_elsewhere);
      branch.instead = at < chain.size() ? chain[at] : "";
      if (branch.events > 0) branches.push_back(std::move(branch));
    }
  }
  return branches;
}

std::vector<std::string> lostLinks(const StoredBatches& batches, const std::vector<Event>& chain) {
  std::set<std::string> lost;
  std::optional<std::set<std::string>> known;
  for (const auto& [name, batch] : batches) {
    if (batch.previous().empty() || batches.count(batch.previous()) > 0) continue;
    if (!known) known = originsOf(chain);
    for (const Event& event : batch.events())
      if (known->count(originOf(event)) == 0) lost.insert(batch.previous());
  }
  return {lost.begin(), lost.end()};
}

}  // namespace holdshelf
