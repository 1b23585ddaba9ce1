// SPDX-License-Identifier: Apache-2.0
#include "catalog/csv_import.h"

#include <algorithm>
#include <optional>
#include <set>
#include <vector>

#include "catalog/event_text.h"
#include "catalog/sheet_line.h"
#include "catalog/shown_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

/// What differs between the line and the record, as an edit; no fields where nothing does.
Edit editOf(const SheetLine& line, const Hold& hold) {
  Edit edit;
  for (const SheetText& field : kSheetTexts) {
    if (!line.has(field.name) || line.at(field.name) == sheetText(hold, field)) continue;
    (edit.*field.set)(line.at(field.name));
    edit.add_fields(field.name);
  }
  const auto count = line.number("count", 1, 100000);
  if (count && *count != std::max(1, hold.count())) {
    edit.set_count(static_cast<int>(*count));
    edit.add_fields("count");
  }
  return edit;
}

/// Where the line says that the hold is, if that is another place; columns that are missing say
/// what the record says.
std::optional<Move> moveOf(const SheetLine& line, const Hold& hold) {
  Move move;
  move.set_status(line.status().value_or(hold.status()));
  const auto cell = [&](const char* column, const std::string& now) {
    return line.has(column) ? line.at(column) : now;
  };
  const std::string crate = cell("crate", hold.crate()), zone = cell("zone", hold.zone()),
                    climb = cell("climb", hold.climb());
  if (move.status() == CRATE) move.set_crate(crate);
  if (move.status() == WALL) {
    move.set_zone(zone);
    move.set_climb(climb);
  }
  if (move.status() != CRATE && line.has("crate") && !crate.empty())
    line.refuse("a crate goes with the status crate only.");
  if (move.status() != WALL &&
      ((line.has("zone") && !zone.empty()) || (line.has("climb") && !climb.empty())))
    line.refuse("zone and climb go with the status wall only.");
  if (move.status() == hold.status() && move.crate() == hold.crate() &&
      move.zone() == hold.zone() && move.climb() == hold.climb())
    return std::nullopt;
  return move;
}

bool hasNote(const Hold& hold, const std::string& text) {
  return std::any_of(hold.notes().begin(), hold.notes().end(),
                     [&](const Note& note) { return note.text() == text; });
}

class Import {
 public:
  Import(const Library& library, const CsvImportOptions& options)
      : library_(library), options_(options) {}

  std::vector<Event> plan(const std::vector<CsvRow>& rows, ImportReport& report) {
    if (rows.empty()) throw BadInput(options_.file + " is empty: export a sheet to see its form.");
    const auto header = sheetHeader(rows.front(), options_.file);
    std::set<std::string> taken;
    for (std::size_t i = 1; i < rows.size(); ++i) {
      const SheetLine line(header, rows[i], options_.file);
      if (!line.at("id").empty() && !taken.insert(line.at("id")).second)
        line.refuse("the id " + givenStart(line.at("id"), 40) + " is there twice.");
    }
    std::vector<Event> events;
    for (std::size_t i = 1; i < rows.size(); ++i) {
      const SheetLine line(header, rows[i], options_.file);
      const std::size_t before = events.size();
      const bool known = !line.at("id").empty() && library_.has(line.at("id"));
      known ? change(line, events) : create(line, taken, events);
      if (events.size() == before) continue;
      if (known) report.set_holds_changed(report.holds_changed() + 1);
      if (!known) report.set_holds_added(report.holds_added() + 1);
      for (std::size_t e = before; e < events.size(); ++e)
        report.add_changes(events[e].hold() + " " + eventText(events[e]));
    }
    report.set_rows(static_cast<std::int64_t>(rows.size()) - 1);
    return events;
  }

 private:
  void change(const SheetLine& line, std::vector<Event>& events) const {
    const Hold hold = library_.hold(line.at("id"));
    std::vector<Event> changes;
    const auto add = [&]() -> Event& {
      changes.emplace_back().set_hold(hold.id());
      return changes.back();
    };
    if (Edit edit = editOf(line, hold); !edit.fields().empty())
      *add().mutable_edited() = std::move(edit);
    if (auto move = moveOf(line, hold)) *add().mutable_moved() = std::move(*move);
    const std::string note = line.at("new_note");
    if (!note.empty() && !hasNote(hold, note)) add().set_noted(note);
    if (changes.empty()) return;
    const auto revision = line.number("revision", 0, INT64_MAX);
    if (!options_.force && revision && *revision != library_.store().countEventsOf(hold.id()))
      line.refuse(
          hold.id() +
          " has been changed since the sheet was exported: export it again, or say --force.");
    events.insert(events.end(), changes.begin(), changes.end());
  }

  void create(const SheetLine& line, std::set<std::string>& taken,
              std::vector<Event>& events) const {
    Event event;
    event.set_hold(line.at("id").empty() ? library_.nextFreeId(taken) : line.at("id"));
    taken.insert(event.hold());
    Hold& hold = *event.mutable_created();
    hold.set_name(line.at("name"));
    hold.set_bin(line.at("bin"));
    hold.set_set(line.at("set"));
    hold.set_maker(line.at("maker"));
    hold.set_texture(line.at("texture"));
    hold.set_said_colour(line.at("colour"));
    hold.set_count(static_cast<int>(line.number("count", 1, 100000).value_or(1)));
    Hold fresh;
    fresh.set_status(SHELF);
    hold.set_status(SHELF);
    events.push_back(event);
    if (auto move = moveOf(line, fresh)) {
      events.emplace_back().set_hold(event.hold());
      *events.back().mutable_moved() = std::move(*move);
    }
    if (const std::string note = line.at("new_note"); !note.empty()) {
      events.emplace_back().set_hold(event.hold());
      events.back().set_noted(note);
    }
  }

  const Library& library_;
  const CsvImportOptions& options_;
};

}  // namespace

ImportReport importCsv(Library& library, const std::string& text, const CsvImportOptions& options) {
  ImportReport report;
  report.set_dry_run(options.dry_run);
  const std::int64_t seen = library.lastEvent();
  std::vector<Event> events = Import(library, options).plan(parseCsv(text, options.file), report);
  if (options.dry_run) return report;
  library.commit(std::move(events), [&] {
    if (library.lastEvent() != seen)
      throw BadInput("The library was changed while " + options.file +
                     " was being read: import it again, nothing has been imported.");
  });
  return report;
}

}  // namespace holdshelf
