// SPDX-License-Identifier: Apache-2.0
#include "catalog/batch_chain.h"

#include <set>
#include <utility>

#include "catalog/hold_record.h"

namespace holdshelf {
namespace {

using Successors = std::map<std::string, std::vector<std::string>>;

/// The chain of batches with most events that begins after a batch ("": with a first one).
std::vector<std::string> longestChain(const StoredBatches& batches, const Successors& next,
                                      const std::string& after) {
  std::vector<std::string> best;
  int most = 0;
  std::vector<std::pair<std::vector<std::string>, int>> open = {{{}, 0}};
  while (!open.empty()) {
    const auto [chain, events] = std::move(open.back());
    open.pop_back();
    if (events > most) {
      best = chain;
      most = events;
    }
    const auto following = next.find(chain.empty() ? after : chain.back());
    if (following == next.end()) continue;
    for (const std::string& name : following->second) {
      open.emplace_back(chain, events + batches.at(name).events_size());
      open.back().first.push_back(name);
    }
  }
  return best;
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
  } catch (const StoreError&) {
    return std::nullopt;
  }
  return chain;
}

std::vector<std::string> chainOf(const StoredBatches& batches, LibraryStore* database) {
  Successors next;
  for (const auto& [name, batch] : batches) next[batch.previous()].push_back(name);
  auto chain = database ? listedChain(batches, *database) : std::nullopt;
  if (!chain) return longestChain(batches, next, "");
  const auto beyond = longestChain(batches, next, chain->empty() ? "" : chain->back());
  if (beyond.size() > 1) chain->insert(chain->end(), beyond.begin(), beyond.end());
  return *chain;
}

std::vector<std::string> lostLinks(const StoredBatches& batches, const std::vector<Event>& chain) {
  std::set<std::string> known, lost;
  for (const Event& event : chain) known.insert(event.SerializeAsString());
  for (const auto& [name, batch] : batches) {
    if (batch.previous().empty() || batches.count(batch.previous()) > 0) continue;
    for (const Event& event : batch.events())
      if (known.count(event.SerializeAsString()) == 0) lost.insert(batch.previous());
  }
  return {lost.begin(), lost.end()};
}

}  // namespace holdshelf
