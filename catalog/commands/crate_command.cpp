// SPDX-License-Identifier: Apache-2.0
// The crate on the floor: start, fill, fetch.
#include <memory>

#include "catalog/bolt_bag.h"
#include "catalog/climb_record.h"
#include "catalog/climbs.h"
#include "catalog/commands/bolt_options.h"
#include "catalog/commands/climb_parts.h"
#include "catalog/output_folder.h"
#include "catalog/pick_pdf.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

void start(const ClimbOptions& o, Console& console) {
  Library library = Library::open(o.library);
  Climb wanted;
  wanted.set_name(o.name);
  wanted.set_colour(o.colour);
  wanted.set_zone(o.zone);
  wanted.set_grade(o.grade);
  wanted.set_setter(o.setter);
  tellClimb(startClimb(library, wanted), console);
}

void list(const ClimbOptions& o, Console& console) {
  const ClimbList climbs = listClimbs(Library::open(o.library), o.all);
  if (climbs.climbs().empty()) console.say("No crate is being packed and no climb is up.\n");
  for (const Climb& climb : climbs.climbs()) console.say(climbText(climb));
  console.result(climbs);
}

void add(const ClimbOptions& o, Console& console) {
  Library library = Library::open(o.library);
  ClimbHold what;
  what.set_wish(o.wish);
  what.set_foot(o.foot);
  tellClimb(o.pieces > 0 ? addPieces(library, o.climb, o.holds, o.pieces, what)
                         : addHolds(library, o.climb, o.holds, what),
            console);
}

void drop(const ClimbOptions& o, Console& console) {
  Library library = Library::open(o.library);
  tellClimb(dropHolds(library, o.climb, o.holds), console);
}

void writePdf(const ClimbOptions& o, const PickList& picked, Console& console) {
  if (o.pdf.extension() != ".pdf")
    throw BadInput(o.pdf.string() + ": the list is a PDF; give --pdf a name ending in .pdf.");
  OutputFolder out(o.pdf.has_parent_path() ? o.pdf.parent_path() : ".");
  out.add(o.pdf.filename().string(), pickPdf(picked, o.paper));
  out.commit();
  console.say("Wrote " + o.pdf.string() + " (" + o.paper + ").\n");
}

void pick(const ClimbOptions& o, Console& console) {
  const Library library = Library::open(o.library);
  const auto stock = o.bolts.stock();
  const PickList picked = pickList(library, o.climb, o.bolts.settings, stock ? &*stock : nullptr,
                                   o.bolts.boltHead(), o.bolts.boltThread());
  console.say(pickText(picked));
  if (!o.pdf.empty()) writePdf(o, picked, console);
  console.result(picked);
}

void bolts(const ClimbOptions& o, Console& console) {
  const Library library = Library::open(o.library);
  const auto stock = o.bolts.stock();
  auto questions = climbBoltQuestions(library, climbOf(library, o.climb));
  for (BoltQuestion& question : questions) {
    question.head = o.bolts.boltHead();
    question.bolts = o.bolts.boltThread();
  }
  const BoltBag bag = packBolts(questions, o.bolts.settings, stock ? &*stock : nullptr);
  console.say(boltText(bag));
  console.result(bag);
}

void addStart(CLI::App* crate, const ClimbOptionsPtr& o, Job& job) {
  CLI::App* c = crate->add_subcommand("start", "Start a crate for a climb");
  addLibraryOption(c, o->library);
  c->add_option("--name", o->name, "What the climb is called")->required()->type_name("TEXT");
  c->add_option("--colour", o->colour, "Colour of its holds; empty: any")->type_name("NAME");
  c->add_option("--zone", o->zone, "Zone of the gym")->required()->type_name("ZONE");
  c->add_option("--grade", o->grade, "Intended grade, as you write it")->type_name("TEXT");
  c->add_option("--setter", o->setter, "Who sets it")->type_name("NAME");
  c->callback([o, &job] { job = [o](Console& console) { start(*o, console); }; });
}

}  // namespace

void addCrateCommand(CLI::App& app, Job& job) {
  const auto o = std::make_shared<ClimbOptions>();
  CLI::App* crate = app.add_subcommand("crate", "Pack a crate of holds for a climb");
  crate->require_subcommand(1);
  addStart(crate, o, job);
  CLI::App* all = crate->add_subcommand("list", "Crates and climbs that are up");
  addLibraryOption(all, o->library);
  all->add_flag("--all", o->all, "Stripped ones too");
  all->callback([o, &job] { job = [o](Console& console) { list(*o, console); }; });
  CLI::App* in = addClimbPart(crate, o, job, "add", "Put holds from the shelf into the crate", add);
  in->add_option("holds", o->holds, "Ids of holds")->required()->type_name("ID...");
  in->add_option("--wish", o->wish, "What they are for")->type_name("TEXT");
  in->add_flag("--foot", o->foot, "Footholds only");
  in->add_option("--pieces", o->pieces, "Only so many of each lot; the others stay on the shelf")
      ->check(CLI::Range(1, 99999))
      ->type_name("N");
  addClimbPart(crate, o, job, "drop", "Put holds back on the shelf", drop)
      ->add_option("holds", o->holds, "Ids of holds")
      ->required()
      ->type_name("ID...");
  CLI::App* fetch =
      addClimbPart(crate, o, job, "pick", "What to fetch, by bin in walking order", pick);
  fetch->add_option("--pdf", o->pdf, "Also as a PDF to print")->type_name("FILE.pdf");
  fetch->add_option("--paper", o->paper, "A4 or pocket (A4)")->type_name("SIZE");
  addBoltOptions(fetch, o->bolts);
  addBoltOptions(addClimbPart(crate, o, job, "bolts", "The climb's bolts and the bag", bolts),
                 o->bolts);
  addSuggestPart(crate, o, job);
  addSwapPart(crate, o, job);
}

}  // namespace holdshelf
