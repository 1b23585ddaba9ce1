// SPDX-License-Identifier: Apache-2.0
#include "catalog/database_check.h"

#include <google/protobuf/util/field_comparator.h>
#include <google/protobuf/util/message_differencer.h>

#include <cmath>
#include <map>
#include <optional>

#include "catalog/hold_record.h"
#include "catalog/hold_rows.h"
#include "catalog/postgres_store.h"
#include "catalog/readable_events.h"
#include "catalog/search_row.h"
#include "mesh/bad_input.h"

using google::protobuf::util::DefaultFieldComparator;
using google::protobuf::util::MessageDifferencer;

namespace holdshelf {
namespace {

/// Equal in all fields, and where a number is none (foreign_event.h) in that it is none, too.
bool areEqual(const google::protobuf::Message& a, const google::protobuf::Message& b) {
  DefaultFieldComparator comparator;
  comparator.set_treat_nan_as_equal(true);
  MessageDifferencer differencer;
  differencer.set_field_comparator(&comparator);
  return differencer.Compare(a, b);
}

/// Events of the database by hold; a fault when they are not exactly those of the chain.
std::map<std::string, std::vector<Event>> checkEvents(const Library& library,
                                                      const std::vector<Event>& chain,
                                                      CheckReport& report) {
  std::size_t at = 0;
  bool same = true;
  std::map<std::string, std::vector<Event>> by_hold;
  library.forEachEvent([&](const Event& event) {
    same = same && at < chain.size() && areEqual(event, chain[at]);
    ++at;
    if (!event.hold().empty()) by_hold[event.hold()].push_back(event);
  });
  if (!same || at != chain.size())
    report.add_faults("The events in the database are not those of the stored batches.");
  return by_hold;
}

/// Whether a column says what was measured; nothing of what was not, or is no number.
bool says(const std::optional<double>& column, double measured) {
  return column.value_or(0) == measured ||
         (std::isnan(measured) && std::isnan(column.value_or(measured)));
}

/// Whether a row's columns are those that its hold gives.
bool rowFits(const HoldRow& row, const Hold& hold) {
  const Scan* scan = currentScan(hold);
  const Shape none;
  const Shape& shape = scan != nullptr ? scan->shape() : none;
  return row.status == hold.status() && row.name == hold.name() && row.bin == hold.bin() &&
         row.set == hold.set() && row.colour == hold.colour().name() &&
         row.site == standsAt(hold) && says(row.protrusion_mm, shape.protrusion_mm().value()) &&
         says(row.width_mm, shape.footprint_width_mm().value()) &&
         says(row.height_mm, shape.footprint_height_mm().value()) &&
         says(row.volume_mm3, shape.volume_mm3().value()) && row.search == packSearchRow(hold);
}

void checkRows(const Library& library, const std::map<std::string, Hold>& folded,
               CheckReport& report) {
  library.store().forEachHold(LibraryStore::HoldPart::Search, [&](const HoldRow& row) {
    const auto hold = folded.find(std::string(row.id));
    if (hold != folded.end() && !rowFits(row, hold->second))
      report.add_faults("What search knows of " + hold->first + " is not what its events say.");
  });
}

/// The same of the marks, by which a shared library is searched; one in a folder has none.
void checkMarks(const Library& library, const std::map<std::string, Hold>& folded,
                CheckReport& report) {
  auto* const shared = dynamic_cast<PostgresStore*>(&library.store());
  if (shared == nullptr) return;
  shared->forEachMarked([&](const std::string& id, const std::vector<std::int32_t>& marks) {
    const auto hold = folded.find(id);
    if (hold == folded.end()) return;
    const HoldRows made({*hold});
    if (marks != made.rows().front().marks)
      report.add_faults("The marks by which search finds " + id + " are not what its events say.");
  });
}

/// Columns of the events beside their messages, and the list of batches.
void checkColumns(const Library& library, const std::vector<std::string>& chain,
                  CheckReport& report) {
  library.store().forEachEvent([&](const EventRow& row) {
    Event event;
    if (event.ParseFromArray(row.body.data(), static_cast<int>(row.body.size())) &&
        (row.number != event.number() || row.subject != subjectOf(event) || row.at != event.at() ||
         row.who != event.who()))
      report.add_faults("Event " + std::to_string(event.number()) +
                        " is filed under what it does not say.");
  });
  if (library.store().batches() != chain)
    report.add_faults("The batches in the database are not those that are stored.");
}

}  // namespace

void checkDatabase(const Library& library, const std::vector<std::string>& batches,
                   const std::vector<Event>& events, CheckReport& report) {
  std::string damage;
  try {
    damage = library.store().damage();
    if (!damage.empty()) report.add_faults("The database is damaged: " + damage + ".");
    const std::string remark = library.store().remark();
    if (!remark.empty()) report.add_remarks(remark);
    const auto by_hold = checkEvents(library, events, report);
    std::map<std::string, Hold> holds;
    for (const auto& [id, its] : by_hold) {
      const auto folded = holdAsOf(its);
      if (folded) holds[id] = slimHold(*folded);
      if (!folded || !library.has(id) || !areEqual(holds[id], library.hold(id)))
        report.add_faults("The record of " + id + " is not what its events say.");
    }
    checkRows(library, holds, report);
    checkMarks(library, holds, report);
    checkColumns(library, batches, report);
    if (library.size() != static_cast<std::int64_t>(by_hold.size()))
      report.add_faults("There are records in the database that no event made.");
  } catch (const BadInput& fault) {
    report.add_faults(fault.what());
  } catch (const StoreError& failure) {
    if (!failure.isDamage() && damage.empty()) throw;  // A failing disk, say.
    report.add_faults(std::string("The database is damaged: ") + failure.what() + ".");
  }
}

std::vector<Event> eventsBeyond(const Library& library, const std::vector<Event>& events) {
  const std::int64_t last = events.empty() ? 0 : events.back().number();
  std::map<std::int64_t, Event> found;  // In order, whatever rows say of their numbers.
  forEachReadableEvent(
      library.store(),
      [&](const Event& event) {
        if (event.number() > last) found[event.number()] = event;
      },
      last);
  std::vector<Event> beyond;
  beyond.reserve(found.size());
  for (auto& [number, event] : found) beyond.push_back(std::move(event));
  return beyond;
}

}  // namespace holdshelf
