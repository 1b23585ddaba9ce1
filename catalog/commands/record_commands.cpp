// SPDX-License-Identifier: Apache-2.0
// What people do to a hold's record: edit, move, note, and read its history.
#include <memory>

#include "catalog/commands/command.h"
#include "catalog/event_text.h"
#include "catalog/hold_record.h"
#include "catalog/library.h"
#include "catalog/library_lot.h"
#include "catalog/mounting.h"
#include "catalog/show_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

struct RecordOptions {
  std::filesystem::path library;
  std::vector<std::string> ids;
  Edit edit;
  std::string status, zone, climb, crate, place, text, bin;
  double rotation_deg = 0, wall_angle_deg = 0;
  CLI::Option *rotation = nullptr, *wall_angle = nullptr;
  std::vector<std::filesystem::path> photos;
  int pieces = 0;
  std::string site;
  bool for_good = false, back = false;
};
using RecordOptionsPtr = std::shared_ptr<RecordOptions>;

CLI::App* addRecordCommand(CLI::App& app, const RecordOptionsPtr& options, const char* name,
                           const char* help) {
  CLI::App* command = app.add_subcommand(name, help);
  command->add_option("ids", options->ids, "Ids of holds")->required()->type_name("ID");
  addLibraryOption(command, options->library);
  return command;
}

void commitAndSay(Library& library, std::vector<Event> events, Console& console) {
  EventList stored;
  for (Event& event : library.commit(std::move(events))) *stored.add_events() = std::move(event);
  for (const Event& event : stored.events())
    console.say(event.hold() + " " + eventText(event) + "\n");
  console.result(stored);
}

/// The same change to every hold named, in one commit: all of them or none.
void change(const RecordOptions& options, const Event& what, Console& console) {
  Library library = Library::open(options.library);
  std::vector<Event> events;
  for (const std::string& id : options.ids) {
    events.push_back(what);
    events.back().set_hold(id);
  }
  commitAndSay(library, std::move(events), console);
}

void edit(const RecordOptions& options, Console& console) {
  if (options.edit.fields().empty())
    throw BadInput(
        "Nothing to change is named: give --name, --bin, --set, --maker, --texture, "
        "--colour or --count.");
  Event event;
  *event.mutable_edited() = options.edit;
  change(options, event, console);
}

void move(const RecordOptions& options, Console& console) {
  Event event;
  Move& move = *event.mutable_moved();
  move.set_status(statusFromWord(options.status));
  if (!options.crate.empty() && move.status() != CRATE)
    throw BadInput("--crate goes with the status crate only.");
  const bool mounting = options.rotation->count() > 0 || options.wall_angle->count() > 0;
  if ((!options.zone.empty() || !options.climb.empty() || !options.place.empty() || mounting) &&
      move.status() != WALL)
    throw BadInput("--zone, --climb, --at, --rotation and --angle go with the status wall only.");
  move.set_crate(options.crate);
  move.set_zone(options.zone);
  move.set_climb(options.climb);
  move.set_place(options.place);
  checkRotation(options.rotation_deg);
  checkLean(options.wall_angle_deg);
  if (options.rotation->count() > 0) move.set_rotation_deg(options.rotation_deg);
  if (options.wall_angle->count() > 0) move.set_wall_angle_deg(options.wall_angle_deg);
  change(options, event, console);
}

void lend(const RecordOptions& options, Console& console) {
  Event event;
  Sited& sited = *event.mutable_sited();
  if (options.back == !options.site.empty()) throw BadInput("Say either --to SITE or --back.");
  if (options.back) {
    sited.set_returned(true);
  } else if (options.for_good) {
    sited.set_given_to(options.site);
  } else {
    sited.set_lent_to(options.site);
  }
  change(options, event, console);
}

void note(const RecordOptions& options, Console& console) {
  Event event;
  event.set_noted(options.text);
  change(options, event, console);
}

void photo(const RecordOptions& options, Console& console) {
  Library library = Library::open(options.library);
  for (const std::string& id : options.ids) (void)library.hold(id);
  std::vector<std::string> blobs;
  for (const auto& file : options.photos) blobs.push_back(library.blobs().put(readFile(file)));
  std::vector<Event> events;
  for (const std::string& id : options.ids)
    for (const std::string& blob : blobs) {
      events.emplace_back().set_hold(id);
      events.back().set_photographed(blob);
    }
  commitAndSay(library, std::move(events), console);
}

void split(const RecordOptions& options, Console& console) {
  Library library = Library::open(options.library);
  const Hold part = splitLot(library, options.ids.front(), options.pieces, options.bin);
  console.say(std::to_string(options.pieces) + " of " + options.ids.front() + " are " + part.id() +
              " now.\n");
  console.result(part);
}

void join(const RecordOptions& options, Console& console) {
  Library library = Library::open(options.library);
  HoldList lots;
  for (const std::string& id : options.ids) {
    const Hold lot = joinLot(library, id);
    console.say(id + " is in " + lot.id() + " again, which has " + std::to_string(lot.count()) +
                " pieces now.\n");
    *lots.add_holds() = lot;
  }
  console.result(lots);
}

void history(const RecordOptions& options, Console& console) {
  const Library library = Library::open(options.library);
  EventList list;
  for (const std::string& id : options.ids) {
    (void)library.hold(id);
    for (Event& event : library.history(id)) *list.add_events() = std::move(event);
  }
  for (const Event& event : list.events())
    console.say(event.at().substr(0, 16) + "  " + event.hold() + "  " + event.who() + "  " +
                eventText(event) + "\n");
  console.result(list);
}

void addField(CLI::App* command, const RecordOptionsPtr& options, const std::string& field,
              void (Edit::*set)(const std::string&), const char* help) {
  command->add_option_function<std::string>(
      "--" + field,
      [options, field, set](const std::string& value) {
        (options->edit.*set)(value);
        options->edit.add_fields(field);
      },
      help);
}

}  // namespace

void addEditCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<RecordOptions>();
  CLI::App* command = addRecordCommand(app, options, "edit", "Change what a person says of holds");
  addField(command, options, "name", &Edit::set_name<const std::string&>, "Name");
  addField(command, options, "bin", &Edit::set_bin<const std::string&>, "Bin");
  addField(command, options, "set", &Edit::set_set<const std::string&>, "Set");
  addField(command, options, "maker", &Edit::set_maker<const std::string&>, "Maker, free text");
  addField(command, options, "texture", &Edit::set_texture<const std::string&>,
           "Texture, free text");
  addField(command, options, "colour", &Edit::set_colour<const std::string&>,
           "Colour as you see it; empty: as the last scan says");
  command
      ->add_option_function<int>(
          "--count",
          [options](int count) {
            options->edit.set_count(count);
            options->edit.add_fields("count");
          },
          "Identical pieces")
      ->check(CLI::Range(1, 100000));
  command->callback([options, &job] { job = [options](Console& c) { edit(*options, c); }; });
}

void addMoveCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<RecordOptions>();
  CLI::App* command = addRecordCommand(app, options, "move", "Say where holds went");
  command
      ->add_option("--to", options->status,
                   "shelf, crate, wall, wash, look (needs a look) or retired")
      ->required()
      ->type_name("WORD");
  command->add_option("--crate", options->crate, "Which crate")->type_name("NAME");
  command->add_option("--zone", options->zone, "Zone of the wall")->type_name("NAME");
  command->add_option("--climb", options->climb, "Which climb")->type_name("NAME");
  command->add_option("--at", options->place, "T-nut or place on the wall")->type_name("PLACE");
  options->rotation =
      command->add_option("--rotation", options->rotation_deg, "How it is turned, degrees")
          ->type_name("DEG");
  options->wall_angle =
      command->add_option("--angle", options->wall_angle_deg, "Wall angle, degrees past vertical")
          ->type_name("DEG");
  command->callback([options, &job] { job = [options](Console& c) { move(*options, c); }; });
}

void addLendCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<RecordOptions>();
  CLI::App* command = addRecordCommand(app, options, "lend",
                                       "Say that holds go to another site of a shared library");
  command->add_option("--to", options->site, "The site they go to")->type_name("SITE");
  command->add_flag("--for-good", options->for_good, "They are that site's from now on");
  command->add_flag("--back", options->back, "They are back at the site that they belong to");
  command->callback([options, &job] { job = [options](Console& c) { lend(*options, c); }; });
}

void addNoteCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<RecordOptions>();
  CLI::App* command = addRecordCommand(app, options, "note", "Write a note on holds");
  command->add_option("--text", options->text, "The note")->required()->type_name("TEXT");
  command->callback([options, &job] { job = [options](Console& c) { note(*options, c); }; });
}

void addPhotoCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<RecordOptions>();
  CLI::App* command =
      addRecordCommand(app, options, "photo", "Keep photos with holds, beside those of the scans");
  command->add_option("--file", options->photos, "Photo files")
      ->required()
      ->check(CLI::ExistingFile)
      ->type_name("FILE");
  command->callback([options, &job] { job = [options](Console& c) { photo(*options, c); }; });
}

void addSplitCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<RecordOptions>();
  CLI::App* command = app.add_subcommand(
      "split", "Take pieces out of a counted lot: they get a record of their own");
  options->ids.resize(1);
  command->add_option("id", options->ids.front(), "Id of the lot")->required()->type_name("ID");
  command->add_option("--pieces", options->pieces, "How many")
      ->required()
      ->check(CLI::Range(1, 99999));
  command->add_option("--bin", options->bin, "Their bin (that of the lot)")->type_name("B");
  addLibraryOption(command, options->library);
  command->callback([options, &job] { job = [options](Console& c) { split(*options, c); }; });
}

void addJoinCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<RecordOptions>();
  CLI::App* command =
      addRecordCommand(app, options, "join", "Put pieces back into the lot they were taken out of");
  command->callback([options, &job] { job = [options](Console& c) { join(*options, c); }; });
}

void addHistoryCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<RecordOptions>();
  CLI::App* command = addRecordCommand(app, options, "history", "List all that happened to holds");
  command->callback([options, &job] { job = [options](Console& c) { history(*options, c); }; });
}

}  // namespace holdshelf
