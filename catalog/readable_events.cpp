// SPDX-License-Identifier: Apache-2.0
#include "catalog/readable_events.h"

#include <algorithm>
#include <limits>

#include "catalog/hold_record.h"

namespace holdshelf {
namespace {

/// In a row, so that a damaged number is not counted up to.
constexpr int kMostSkipped = 100'000;

/// What parses by chance has no number, time or subject.
bool readEvent(const EventRow& row, Event& event) {
  return event.ParseFromArray(row.body.data(), static_cast<int>(row.body.size())) &&
         event.number() > 0 && !event.at().empty() && !subjectOf(event).empty();
}

/// Number of the last event; where that is damaged it may be any.
std::int64_t lastNumber(LibraryStore& database) {
  try {
    return database.lastEvent();
  } catch (const StoreError& failure) {
    if (!failure.isDamage()) throw;
    return std::numeric_limits<std::int64_t>::max();
  }
}

}  // namespace

bool forEachReadableEvent(LibraryStore& database, const std::function<void(const Event&)>& visit,
                          std::int64_t after) {
  bool all = true;
  for (int skipped = 0;;) try {
      database.forEachEvent(
          [&](const EventRow& row) {
            skipped = 0;
            after = std::max(after, row.number);
            Event event;
            if (readEvent(row, event))
              visit(event);
            else
              all = false;
          },
          after);
      return all;
    } catch (const StoreError& failure) {
      if (!failure.isDamage()) throw;
      all = false;
      // One number at a time, until the walk begins behind what is damaged.
      if (after >= lastNumber(database) - 1 || ++skipped > kMostSkipped) return false;
      ++after;
    }
}

}  // namespace holdshelf
