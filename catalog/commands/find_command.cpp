// SPDX-License-Identifier: Apache-2.0
#include <map>
#include <memory>

#include "catalog/colour.h"
#include "catalog/commands/command.h"
#include "catalog/find.h"
#include "catalog/hold_numbers.h"
#include "catalog/hold_record.h"
#include "catalog/query_text.h"
#include "catalog/show_text.h"

namespace holdshelf {
namespace {

struct FindOptions {
  std::filesystem::path library;
  std::map<std::string, std::string> ranges;  // By the number's flag.
  std::vector<std::string> colours, words, bins, sets, statuses;
  std::string text, rotation, patch, sort;
  double patch_within = 0;
  int limit = 20;
};

Query queryOf(const FindOptions& options) {
  Query query;
  for (const auto& [number, range] : options.ranges)
    if (!range.empty()) *query.add_ranges() = parseRange(number, range);
  for (const auto& colour : options.colours) query.add_colours(colour);
  for (const auto& word : options.words) query.add_words(word);
  for (const auto& bin : options.bins) query.add_bins(bin);
  for (const auto& set : options.sets) query.add_sets(set);
  for (const auto& status : options.statuses) query.add_statuses(statusFromWord(status));
  query.set_text(options.text);
  if (!options.rotation.empty()) setRotation(query, options.rotation);
  if (!options.patch.empty()) {
    const Lab lab = labFromHex(options.patch);
    for (const double value : {lab.L, lab.a, lab.b}) query.add_lab(value);
    query.set_lab_within(options.patch_within);
  }
  query.set_sort(options.sort);
  query.set_limit(options.limit);
  return query;
}

void find(const FindOptions& options, Console& console) {
  const Query query = queryOf(options);
  const FindResult result = SearchIndex(Library::open(options.library)).find(query);
  console.say(findText(result));
  console.result(result);
}

}  // namespace

void addFindCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<FindOptions>();
  CLI::App* command = app.add_subcommand(
      "find",
      "Find holds by numbers, colour, grip and place, e.g. --edge-depth 12..20 --incut 5..");
  addLibraryOption(command, options->library);
  for (const NumberKind& kind : numberKinds())
    command
        ->add_option("--" + std::string(kind.flag), options->ranges[kind.flag],
                     "Range of the " + std::string(kind.label) +
                         (*kind.unit ? ", " + std::string(kind.unit) : ""))
        ->type_name("FROM..TO")
        ->group("Numbers (a range: 12..20, 12.., ..20)");
  command->add_option("--colour", options->colours, "Colour: red, \"vivid red\"; any of several")
      ->type_name("NAME");
  command->add_option("--patch", options->patch, "Colour near this one, e.g. #be0032")
      ->type_name("HEX");
  command
      ->add_option("--patch-within", options->patch_within,
                   "Largest CIEDE2000 difference to the patch (12)")
      ->type_name("DE");
  command
      ->add_option("--grip", options->words,
                   "Grip word: jug, edge, crimp, pocket, sloper, pinch, foot-only; all of several")
      ->type_name("WORD");
  command->add_option("--rotation", options->rotation, "Edges and grips at these rotations only, °")
      ->type_name("FROM..TO");
  command->add_option("--bin", options->bins, "Bin; any of several")->type_name("BIN");
  command->add_option("--set", options->sets, "Set; any of several")->type_name("SET");
  command
      ->add_option("--status", options->statuses,
                   "shelf, crate, wall, wash, look or retired; any of several (all but retired)")
      ->type_name("WORD");
  command->add_option("--name", options->text, "Part of the name or id")->type_name("TEXT");
  command
      ->add_option("--sort", options->sort,
                   "A number, id, name or colour-distance; with - before it: falling")
      ->type_name("KEY");
  command->add_option("--limit", options->limit, "Most holds to show; 0: all (20)")->type_name("N");
  command->callback([options, &job] { job = [options](Console& c) { find(*options, c); }; });
}

}  // namespace holdshelf
