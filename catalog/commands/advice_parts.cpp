// SPDX-License-Identifier: Apache-2.0
// What is advised: suggestions for a crate, checks over a climb, swaps.
#include "catalog/climb_checks.h"
#include "catalog/climbs.h"
#include "catalog/commands/climb_parts.h"
#include "catalog/suggest.h"
#include "catalog/suggest_text.h"
#include "catalog/swaps.h"

namespace holdshelf {
namespace {

void suggest(const ClimbOptions& o, Console& console) {
  const Suggestions suggestions = suggestHolds(Library::open(o.library), o.climb, o.wish, o.limit);
  console.say(suggestText(suggestions));
  console.result(suggestions);
}

void check(const ClimbOptions& o, Console& console) {
  const ClimbChecks checks =
      checkClimb(Library::open(o.library), o.climb, {}, console.progress(), o.bolts.settings);
  console.endProgress();
  console.say(checksText(checks));
  console.result(checks);
}

void swaps(const ClimbOptions& o, Console& console) {
  const SwapList list =
      findSwaps(Library::open(o.library), o.climb, o.hold, o.like, o.any_colour, o.limit);
  console.say(swapText(list));
  console.result(list);
}

void swap(const ClimbOptions& o, Console& console) {
  Library library = Library::open(o.library);
  tellClimb(swapHold(library, o.climb, o.hold, o.other, o.rotation_deg), console);
}

}  // namespace

void addSuggestPart(CLI::App* crate, const ClimbOptionsPtr& o, Job& job) {
  CLI::App* c =
      addClimbPart(crate, o, job, "suggest", "Holds on the shelf for a wish list", suggest);
  c->add_option("wishes", o->wish, "e.g. \"four incut crimps, one big-radius jug to finish\"")
      ->required()
      ->type_name("TEXT");
  c->add_option("--others", o->limit, "Further holds to name for each wish (5)")
      ->check(CLI::Range(0, 100))
      ->type_name("N");
}

void addSwapParts(CLI::App* climb, const ClimbOptionsPtr& o, Job& job) {
  addBoltSettings(addClimbPart(climb, o, job, "check",
                               "Look over the climb, with cures that were tried", check),
                  o->bolts.settings);
  CLI::App* offers = addClimbPart(climb, o, job, "swaps", "Holds to take instead of one", swaps);
  offers->add_option("hold", o->hold, "Id of the hold")->required()->type_name("HOLD");
  offers
      ->add_option("--like", o->like,
                   "lower (the same lip), smaller (the same feel), harder (one notch worse for the "
                   "hand) or foot (as a foot, less grabbable)")
      ->required()
      ->type_name("WORD");
  offers->add_flag("--any-colour", o->any_colour, "Not only the climb's colour");
  offers->add_option("--limit", o->limit, "Most to name (5)")
      ->check(CLI::Range(1, 100))
      ->type_name("N");
  addSwapPart(climb, o, job);
}

void addSwapPart(CLI::App* parent, const ClimbOptionsPtr& o, Job& job) {
  CLI::App* c =
      addClimbPart(parent, o, job, "swap", "Take another hold from the shelf instead", swap);
  c->add_option("hold", o->hold, "Id of the hold that leaves")->required()->type_name("HOLD");
  c->add_option("for", o->other, "Id of the hold that comes")->required()->type_name("HOLD");
  c->add_option("--rotation", o->rotation_deg, "Turned counter-clockwise (0)")->type_name("DEG");
}

}  // namespace holdshelf
