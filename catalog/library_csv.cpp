// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_csv.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <map>
#include <set>
#include <vector>

#include "catalog/csv.h"
#include "catalog/event_text.h"
#include "catalog/hold_record.h"
#include "catalog/measured_text.h"
#include "mesh/bad_input.h"
#include "mesh/plot.h"

namespace holdshelf {
namespace {

/// Fields that are text in the sheet, the record and the edit alike.
struct TextField {
  const char* name;
  const std::string& (Hold::*get)() const;
  void (Edit::*set)(const std::string&);
};
const std::array<TextField, 6> kTextFields{{
    {"name", &Hold::name, &Edit::set_name<const std::string&>},
    {"bin", &Hold::bin, &Edit::set_bin<const std::string&>},
    {"set", &Hold::set, &Edit::set_set<const std::string&>},
    {"maker", &Hold::maker, &Edit::set_maker<const std::string&>},
    {"texture", &Hold::texture, &Edit::set_texture<const std::string&>},
    {"colour", nullptr, &Edit::set_colour<const std::string&>},
}};

constexpr const char* kSaid =
    "id,name,bin,set,maker,texture,count,colour,status,crate,zone,climb,new_note,revision";
constexpr const char* kMeasured =
    "scanned_at,protrusion_mm,footprint_width_mm,footprint_height_mm,volume_mm3,edge_depth_mm,"
    "lip_radius_mm,incut_deg,good_for";

std::vector<std::string> split(const std::string& list) {
  return parseCsv(list, "the header").front().cells;
}

std::string textOf(const Hold& hold, const TextField& field) {
  return field.get ? (hold.*field.get)() : hold.colour().name();
}

std::string measuredCells(const Hold& hold) {
  const Scan* scan = currentScan(hold);
  if (scan == nullptr) return ",,,,,,,,";
  const Shape& shape = scan->shape();
  const auto number = [](bool has, const Measured& m, int decimals) {
    return "," + (has ? decimalText(m.value(), decimals) : std::string());
  };
  std::string text = csvCell(scan->taken_at());
  text += number(shape.has_protrusion_mm(), shape.protrusion_mm(), 1);
  text += number(shape.has_footprint_width_mm(), shape.footprint_width_mm(), 1);
  text += number(shape.has_footprint_height_mm(), shape.footprint_height_mm(), 1);
  text += number(shape.has_volume_mm3(), shape.volume_mm3(), 0);
  const Grip* grip = bestGrip(shape);
  const Grip& best = grip ? *grip : Grip::default_instance();
  text += number(best.has_edge_depth_mm(), best.edge_depth_mm(), 1);
  text += number(best.has_lip_radius_mm(), best.lip_radius_mm(), 1);
  text += number(best.has_incut_deg(), best.incut_deg(), 0);
  std::string words;
  for (const GripWord& word : hold.words())
    if (words.find(word.word()) == std::string::npos)
      words += (words.empty() ? "" : " ") + word.word();
  return text + "," + words;
}

std::int64_t revisionOf(const Library& library, const std::string& id) {
  return library.store().countEventsOf(id);
}

/// One line of a sheet, cells by column.
class Line {
 public:
  Line(const std::vector<std::string>& header, const CsvRow& row, const std::string& file)
      : file_(file), line_(row.line) {
    if (row.cells.size() > header.size())
      refuse("there are more cells than columns: put quotes around text with a separator in it.");
    for (std::size_t i = 0; i < row.cells.size(); ++i) cells_[header[i]] = row.cells[i];
  }

  bool has(const std::string& column) const { return cells_.count(column) != 0; }
  std::string at(const std::string& column) const {
    const auto found = cells_.find(column);
    return found == cells_.end() ? "" : found->second;
  }

  /// nullopt for an empty or missing cell.
  std::optional<std::int64_t> number(const std::string& column, std::int64_t least,
                                     std::int64_t most) const {
    const std::string text = at(column);
    if (text.empty()) return std::nullopt;
    std::int64_t value = 0;
    const auto end = text.data() + text.size();
    const auto [stop, error] = std::from_chars(text.data(), end, value);
    if (error != std::errc() || stop != end || value < least || value > most)
      refuse(column + " \"" + text + "\" is not a whole number from " + std::to_string(least) +
             " to " + std::to_string(most) + ".");
    return value;
  }

  std::optional<Status> status() const {
    if (at("status").empty()) return std::nullopt;
    try {
      return statusFromWord(at("status"));
    } catch (const BadInput& error) {
      refuse(error.what());
    }
  }

  [[noreturn]] void refuse(const std::string& why) const {
    throw BadInput(file_ + ", line " + std::to_string(line_) + ": " + why +
                   " Nothing was imported.");
  }

 private:
  const std::string& file_;
  std::size_t line_;
  std::map<std::string, std::string> cells_;
};

std::vector<std::string> checkedHeader(const CsvRow& row, const std::string& file) {
  std::vector<std::string> known = split(kSaid);
  for (const std::string& column : split(kMeasured)) known.push_back(column);
  std::set<std::string> seen;
  for (const std::string& column : row.cells) {
    if (std::find(known.begin(), known.end(), column) == known.end())
      throw BadInput(file + ", line " + std::to_string(row.line) + ": there is no column \"" +
                     column + "\": use " + kSaid + ".");
    if (!seen.insert(column).second)
      throw BadInput(file + ", line " + std::to_string(row.line) + ": the column \"" + column +
                     "\" is there twice.");
  }
  return row.cells;
}

/// What differs between the line and the record, as an edit; no fields where nothing does.
Edit editOf(const Line& line, const Hold& hold) {
  Edit edit;
  for (const TextField& field : kTextFields) {
    if (!line.has(field.name) || line.at(field.name) == textOf(hold, field)) continue;
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
std::optional<Move> moveOf(const Line& line, const Hold& hold) {
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
    const auto header = checkedHeader(rows.front(), options_.file);
    std::set<std::string> taken;
    for (std::size_t i = 1; i < rows.size(); ++i) {
      const Line line(header, rows[i], options_.file);
      if (!line.at("id").empty() && !taken.insert(line.at("id")).second)
        line.refuse("the id " + line.at("id") + " is there twice.");
    }
    std::vector<Event> events;
    for (std::size_t i = 1; i < rows.size(); ++i) {
      const Line line(header, rows[i], options_.file);
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
  void change(const Line& line, std::vector<Event>& events) const {
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
    if (!options_.force && revision && *revision != revisionOf(library_, hold.id()))
      line.refuse(
          hold.id() +
          " has been changed since the sheet was exported: export it again, or say --force.");
    events.insert(events.end(), changes.begin(), changes.end());
  }

  void create(const Line& line, std::set<std::string>& taken, std::vector<Event>& events) const {
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

std::string libraryCsv(const Library& library) {
  std::string text = std::string(kSaid) + "," + kMeasured + "\r\n";
  library.forEachHold([&](std::int64_t, const Hold& hold) {
    text += csvCell(hold.id());
    for (const TextField& field : kTextFields) {
      if (std::string(field.name) == "colour")
        text += "," + std::to_string(std::max(1, hold.count()));
      text += "," + csvCell(textOf(hold, field));
    }
    text += "," + statusWord(hold.status()) + "," + csvCell(hold.crate()) + "," +
            csvCell(hold.zone()) + "," + csvCell(hold.climb()) + ",," +
            std::to_string(revisionOf(library, hold.id())) + "," + measuredCells(hold) + "\r\n";
  });
  return text;
}

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
