// SPDX-License-Identifier: Apache-2.0
#include <memory>
#include <optional>

#include "catalog/bolt_bag.h"
#include "catalog/commands/bolt_options.h"
#include "catalog/commands/command.h"
#include "catalog/hold_record.h"
#include "catalog/library.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

struct BoltsOptions {
  std::filesystem::path library;
  std::vector<std::string> ids;
  double seat_mm = -1;
  double panel_mm = 18, barrel_mm = 11, flange_mm = 1.5;
  std::string thread = "M10";
  BoltOptions bolts;
};

Panel panelOf(const BoltsOptions& options) {
  Panel panel;
  panel.set_thread(threadFromText(options.thread));
  panel.set_panel_mm(options.panel_mm);
  panel.set_barrel_mm(options.barrel_mm);
  panel.set_flange_mm(options.flange_mm);
  return panel;
}

void bolts(const BoltsOptions& options, Console& console) {
  const Panel panel = panelOf(options);
  std::vector<BoltQuestion> questions;
  const auto ask = [&](BoltQuestion question) {
    question.panel = panel;
    question.head = options.bolts.boltHead();
    question.bolts = options.bolts.boltThread();
    if (options.seat_mm >= 0) question.seat_by_hand_mm = options.seat_mm;
    questions.push_back(std::move(question));
  };
  if (options.ids.empty() && options.seat_mm < 0)
    throw BadInput("Name holds, or give a seat height with --seat.");
  if (options.ids.empty()) ask({});
  std::optional<Library> library;
  if (!options.ids.empty()) library.emplace(Library::open(options.library));
  for (const std::string& id : options.ids) ask(boltQuestionOf(library->hold(id)));
  const auto stock = options.bolts.stock();
  const BoltBag bag = packBolts(questions, options.bolts.settings, stock ? &*stock : nullptr);
  console.say(boltText(bag));
  console.result(bag);
}

}  // namespace

void addBoltsCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<BoltsOptions>();
  CLI::App* command = app.add_subcommand(
      "bolts", "Bolt lengths for holds in a panel, with the bag to pack and what is wrong");
  command->add_option("ids", options->ids, "Ids of holds; none: --seat alone")->type_name("ID");
  addLibraryOption(command, options->library);
  command
      ->add_option("--seat", options->seat_mm,
                   "Seat height measured by hand, mm: from the hold's back to the face a cap head "
                   "bears on; for a countersunk head to the narrow end of the cone, where it meets "
                   "the bore (the head is added)")
      ->type_name("MM")
      ->check(CLI::Range(0.0, 500.0));
  command->add_option("--panel", options->panel_mm, "Panel thickness, mm (18)")->type_name("MM");
  command->add_option("--barrel", options->barrel_mm, "T-nut barrel, mm (11)")->type_name("MM");
  command->add_option("--flange", options->flange_mm, "T-nut flange behind the panel, mm (1.5)")
      ->type_name("MM");
  command->add_option("--thread", options->thread, "T-nut thread: M10 or 3/8-16 (M10)")
      ->type_name("THREAD");
  addBoltOptions(command, options->bolts);
  command->callback([options, &job] { job = [options](Console& c) { bolts(*options, c); }; });
}

}  // namespace holdshelf
