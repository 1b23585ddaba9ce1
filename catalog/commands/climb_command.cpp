// SPDX-License-Identifier: Apache-2.0
// The climb on the wall: placements, bolts, notes, checks, strip.
#include "catalog/climb_pick.h"
#include "catalog/climb_record.h"
#include "catalog/climbs.h"
#include "catalog/commands/climb_parts.h"
#include "catalog/event_text.h"
#include "catalog/recorded_bolt.h"
#include "catalog/verdict_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

void show(const ClimbOptions& o, Console& console) {
  const Library library = Library::open(o.library);
  const ClimbView view = viewClimb(library, o.climb);
  console.say(climbText(view.climb()));
  int verdict = 0;
  for (const ClimbHold& held : view.climb().holds())
    if (held.gone().empty() && held.has_placement())
      console.say("  " + held.hold() + ": " + view.verdicts(verdict++).sentence() + "\n");
  console.result(view);
}

/// Says at once, wrench in hand, what is wrong with the bolt that was just written down.
void tellBolt(const Library& library, const Climb& climb, const std::string& hold,
              const BoltSettings& settings, Console& console) {
  const ClimbHold* held = heldBy(climb, hold);
  if (held == nullptr || held->bolt().empty() || !held->has_placement()) return;
  for (const BoltQuestion& question : climbBoltQuestions(library, climb))
    if (question.hold == hold)
      if (const auto fault = judgeRecorded(held->bolt(), question, settings))
        console.say("  ! " + hold + ": " + fault->reason + "\n");
}

void place(const ClimbOptions& o, Console& console) {
  Library library = Library::open(o.library);
  const std::string piece = placePiece(library, o.climb, o.hold, o.placement);
  if (!o.bolt.empty()) (void)recordBolt(library, o.climb, piece, o.bolt);
  const Climb climb = climbOf(library, o.climb);
  if (piece != o.hold) console.say(piece + " is the piece of " + o.hold + " that is mounted.\n");
  tellClimb(climb, console);
  tellBolt(library, climb, piece, o.bolts.settings, console);
}

void bolt(const ClimbOptions& o, Console& console) {
  Library library = Library::open(o.library);
  const Climb climb = recordBolt(library, o.climb, o.hold, o.bolt);
  tellClimb(climb, console);
  tellBolt(library, climb, o.hold, o.bolts.settings, console);
}

void use(const ClimbOptions& o, Console& console) {
  if (o.foot == o.hand) throw BadInput("Say --foot or --hand, one of them.");
  Library library = Library::open(o.library);
  tellClimb(useAs(library, o.climb, o.hold, o.foot), console);
}

void note(const ClimbOptions& o, Console& console) {
  Library library = Library::open(o.library);
  tellClimb(noteClimb(library, o.climb, o.hold, o.text), console);
}

void dismiss(const ClimbOptions& o, Console& console) {
  Library library = Library::open(o.library);
  tellClimb(dismissCheck(library, o.climb, o.check, o.hold, o.reason), console);
}

void open(const ClimbOptions& o, Console& console) {
  Library library = Library::open(o.library);
  tellClimb(openClimb(library, o.climb), console);
}

void history(const ClimbOptions& o, Console& console) {
  const EventList events = climbHistory(Library::open(o.library), o.climb);
  for (const Event& event : events.events())
    console.say(event.at().substr(0, 16) + "  " + event.who() + "  " + eventText(event) + "\n");
  console.result(events);
}

void strip(const ClimbOptions& o, Console& console) {
  Library library = Library::open(o.library);
  const StripList list =
      o.dry ? stripList(library, o.climb, o.to) : stripClimb(library, o.climb, o.to);
  console.say(stripText(list));
  console.result(list);
}

void addPlace(CLI::App* climb, const ClimbOptionsPtr& o, Job& job) {
  CLI::App* c = addClimbPart(climb, o, job, "place", "Record where a hold is mounted", place);
  addBoltSettings(c, o->bolts.settings);
  c->add_option("hold", o->hold, "Id of the hold")->required()->type_name("HOLD");
  c->add_option_function<int>(
       "--column", [o](int n) { o->placement.set_column(n); }, "T-nut, from the climber's left")
      ->type_name("N");
  c->add_option_function<int>(
       "--row", [o](int n) { o->placement.set_row(n); }, "T-nut, from the bottom")
      ->type_name("N");
  c->add_option_function<std::string>(
       "--panel", [o](const std::string& t) { o->placement.set_panel(t); },
       "Panel, where the zone has several")
      ->type_name("PANEL");
  c->add_option_function<std::string>(
       "--where", [o](const std::string& t) { o->placement.set_note(t); },
       "In words, where no T-nut is meant")
      ->type_name("TEXT");
  c->add_option_function<double>(
       "--rotation", [o](double deg) { o->placement.set_rotation_deg(deg); },
       "Turned counter-clockwise (0)")
      ->check(CLI::Range(-360.0, 360.0))
      ->type_name("DEG");
  c->add_option("--bolt", o->bolt, "The bolt that was used")->type_name("TEXT");
}

}  // namespace

CLI::App* addClimbPart(CLI::App* parent, const ClimbOptionsPtr& options, Job& job, const char* name,
                       const char* help, void (*run)(const ClimbOptions&, Console&)) {
  CLI::App* command = parent->add_subcommand(name, help);
  command->add_option("climb", options->climb, "Crate or climb, as C-0001")
      ->required()
      ->type_name("CLIMB");
  addLibraryOption(command, options->library);
  command->callback(
      [options, &job, run] { job = [options, run](Console& c) { run(*options, c); }; });
  return command;
}

void tellClimb(const Climb& climb, Console& console) {
  console.say(climbText(climb));
  console.result(climb);
}

void addClimbCommand(CLI::App& app, Job& job) {
  const auto o = std::make_shared<ClimbOptions>();
  CLI::App* climb = app.add_subcommand("climb", "Record, check and strip a climb on the wall");
  climb->require_subcommand(1);
  const auto hold = [&](CLI::App* c) {
    c->add_option("hold", o->hold, "Id of the hold")->required()->type_name("HOLD");
    return c;
  };
  addClimbPart(climb, o, job, "show", "The climb, with what each mounting gives", show);
  addPlace(climb, o, job);
  CLI::App* used = hold(addClimbPart(climb, o, job, "bolt", "Record the bolt that was used", bolt));
  addBoltSettings(used, o->bolts.settings);
  used->add_option("bolt", o->bolt, "e.g. \"M10 x 55\"")->required()->type_name("TEXT");
  CLI::App* as = hold(addClimbPart(climb, o, job, "use", "Say what a hold is meant for", use));
  as->add_flag("--foot", o->foot, "A foothold only");
  as->add_flag("--hand", o->hand, "For hands");
  CLI::App* n = addClimbPart(climb, o, job, "note", "Write down what a test climb showed", note);
  n->add_option("--hold", o->hold, "Hold it is about")->type_name("HOLD");
  n->add_option("--text", o->text, "The note")->required()->type_name("TEXT");
  addSwapParts(climb, o, job);
  CLI::App* aside = hold(addClimbPart(climb, o, job, "dismiss", "Set a check aside", dismiss));
  aside->add_option("--check", o->check, "feet, top-out, sharp, bolt, worn, place or scan")
      ->required()
      ->check(CLI::IsMember({"feet", "top-out", "sharp", "bolt", "worn", "place", "scan"}))
      ->type_name("WORD");
  aside->add_option("--reason", o->reason, "Why; it is kept")->required()->type_name("TEXT");
  addClimbPart(climb, o, job, "open", "The climb is open", open);
  addClimbPart(climb, o, job, "history", "All that happened to the climb", history);
  CLI::App* down = addClimbPart(climb, o, job, "strip", "Take the climb down", strip);
  down->add_option("--to", o->to, "wash or shelf (wash)")->type_name("WORD");
  down->add_flag("--dry", o->dry, "Only say where the holds would go");
}

}  // namespace holdshelf
