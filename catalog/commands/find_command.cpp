// SPDX-License-Identifier: Apache-2.0
#include <map>
#include <memory>
#include <optional>

#include "capture/patch_colour.h"
#include "catalog/ask.h"
#include "catalog/blob_store.h"
#include "catalog/colour.h"
#include "catalog/commands/command.h"
#include "catalog/find.h"
#include "catalog/hold_numbers.h"
#include "catalog/hold_record.h"
#include "catalog/output_folder.h"
#include "catalog/query_line.h"
#include "catalog/query_text.h"
#include "catalog/show_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

struct FindOptions {
  std::filesystem::path library;
  std::map<std::string, std::string> ranges;  // By the number's flag.
  std::vector<std::string> colours, words, bins, sets, sites, statuses;
  std::vector<std::string> question;
  std::string text, rotation, patch, sort, query_file, force, pull;
  std::string like, lip_file, lip_shape;
  std::optional<double> wall_angle_deg;
  double patch_within = 0, lip_within_mm = 0;
  std::filesystem::path overlays;
  bool foot = false;
  int limit = -1;
};

void addLip(const FindOptions& options, Query& query) {
  if (!options.like.empty()) setLipLike(*query.mutable_lip(), options.like);
  if (!options.lip_file.empty())
    setDrawnLip(*query.mutable_lip(), readFile(options.lip_file), options.lip_file);
  if (!options.lip_shape.empty()) {
    std::string phrase = "lip shaped radius " + options.lip_shape;
    for (const char* next : {" incut ", " depth "})
      if (const std::size_t at = phrase.find(','); at != std::string::npos)
        phrase.replace(at, 1, next);
    addQueryLine(phrase, query);
  }
  if (options.lip_within_mm > 0) query.mutable_lip()->set_within_mm(options.lip_within_mm);
}

void addMounting(const FindOptions& options, Query& query) {
  if (options.wall_angle_deg) query.set_wall_angle_deg(*options.wall_angle_deg);
  if (!options.pull.empty()) addQueryLine("pulled " + options.pull, query);
  if (!options.force.empty()) addQueryLine("grip force " + options.force, query);
  if (options.foot) query.set_foot(true);
}

/// The line of text, the JSON file and the flags together: all that any of them says must hold.
Query wholeQuery(const FindOptions& options) {
  Query query;
  if (!options.query_file.empty()) query = queryOf(readFile(options.query_file));
  std::string line;
  for (const std::string& word : options.question) line += (line.empty() ? "" : " ") + word;
  if (line.starts_with('{'))
    query.MergeFrom(queryOf(line));
  else
    addQueryLine(line, query);
  if (query.limit() == 0) query.set_limit(20);
  addLip(options, query);
  addMounting(options, query);
  for (const auto& [number, range] : options.ranges)
    if (!range.empty()) *query.add_ranges() = parseRange(number, range);
  for (const auto& colour : options.colours) query.add_colours(colour);
  for (const auto& word : options.words) query.add_words(word);
  for (const auto& bin : options.bins) query.add_bins(bin);
  for (const auto& set : options.sets) query.add_sets(set);
  for (const auto& site : options.sites) query.add_sites(site);
  for (const auto& status : options.statuses) query.add_statuses(statusFromWord(status));
  if (!options.text.empty()) query.set_text(options.text);
  if (!options.rotation.empty()) setRotation(query, options.rotation);
  if (!options.patch.empty()) {
    const Lab lab = std::filesystem::is_regular_file(options.patch)
                        ? labFromSrgb(patchColour_srgb(options.patch))
                        : labFromHex(options.patch);
    for (const double value : {lab.L, lab.a, lab.b}) query.add_lab(value);
    query.set_lab_within(options.patch_within);
  }
  if (!options.sort.empty()) query.set_sort(options.sort);
  if (options.limit >= 0) query.set_limit(options.limit);
  return query;
}

/// Each hit's lip over the wanted one, best first, as 01-H-0123.svg and .png.
void writeOverlays(const std::filesystem::path& folder, const Query& query,
                   const FindResult& result) {
  if (!query.has_lip())
    throw BadInput(
        "There is no wanted lip to draw: ask for one with --like, --lip or --lip-shape.");
  OutputFolder out(folder);
  int number = 0;
  for (const FindHit& hit : result.hits()) {
    const Plot plot = overlayPlot(query, hit);
    const std::string place = std::to_string(++number);
    const std::string name = (place.size() < 2 ? "0" : "") + place + "-" + hit.id();
    out.add(name + ".svg", plot.svg);
    out.add(name + ".png", plot.png);
  }
  out.commit();
}

void find(const FindOptions& options, Console& console) {
  const Query query = wholeQuery(options);
  const Library library = Library::open(options.library);
  const FindResult result = ask(
      library, [&] { return std::make_shared<const SearchIndex>(library); }, query);
  if (!options.overlays.empty()) writeOverlays(options.overlays, query, result);
  console.say(findText(result));
  console.result(result);
}

/// The whole question, or its numbers.
void addQuestionOptions(CLI::App* command, FindOptions& options) {
  command
      ->add_option("question", options.question,
                   "What to look for, as one says it: \"red edge 14..20 mm deep, incut over 5, bin "
                   "A3\"; flags add to it")
      ->type_name("TEXT");
  command->add_option("--query", options.query_file, "The same as JSON (a Query message) in a file")
      ->type_name("FILE");
  for (const NumberKind& kind : numberKinds())
    command
        ->add_option("--" + std::string(kind.flag), options.ranges[kind.flag],
                     "Range of the " + std::string(kind.label) +
                         (*kind.unit ? ", " + std::string(kind.unit) : ""))
        ->type_name("FROM..TO")
        ->group("Numbers (a range: 12..20, 12.., ..20)");
}

/// Colour and grip.
void addLookOptions(CLI::App* command, FindOptions& options) {
  command->add_option("--colour", options.colours, "Colour: red, \"vivid red\"; any of several")
      ->type_name("NAME");
  command
      ->add_option("--patch", options.patch,
                   "Colour near this one: #be0032, or a JPEG or PNG that shows it in its middle")
      ->type_name("HEX|FILE");
  command
      ->add_option("--patch-within", options.patch_within,
                   "Largest CIEDE2000 difference to the patch (12)")
      ->type_name("DE");
  command
      ->add_option("--grip", options.words,
                   "Grip word: jug, edge, crimp, pocket, sloper, pinch, foot-only; all of several")
      ->type_name("WORD");
}

/// How it would hang, and what it has to do there.
void addMountingOptions(CLI::App* command, FindOptions& options) {
  command->add_option("--rotation", options.rotation, "Edges and grips at these rotations only, °")
      ->type_name("FROM..TO");
  command
      ->add_option("--wall-angle", options.wall_angle_deg,
                   "Degrees past vertical, for grip force and foot use (0)")
      ->type_name("DEG");
  command->add_option("--pull", options.pull, "left, right, up, down, or degrees from down")
      ->type_name("WAY");
  command
      ->add_option("--grip-force", options.force,
                   "Range of the best hand grip's force there, fraction of a large jug")
      ->type_name("FROM..TO");
  command->add_flag("--foot", options.foot, "Serves a toe there without being too grabbable");
}

/// A wanted lip.
void addLipOptions(CLI::App* command, FindOptions& options) {
  command
      ->add_option("--like", options.like,
                   "By the lip of this hold, nearest first; H-0123@30: its lip at that rotation")
      ->type_name("ID")
      ->group("Lips");
  command
      ->add_option("--lip", options.lip_file,
                   "By a drawn section: a file of points, mm from the wall and mm up, one a line")
      ->type_name("FILE")
      ->group("Lips");
  command
      ->add_option(
          "--lip-shape", options.lip_shape,
          "By a lip of this radius, incut and depth: mm, degrees, mm (depth may be left out)")
      ->type_name("R,INCUT,DEPTH")
      ->group("Lips");
  command->add_option("--lip-within", options.lip_within_mm, "Largest gap to the wanted lip, mm")
      ->type_name("MM")
      ->group("Lips");
  command
      ->add_option("--overlays", options.overlays,
                   "Draw every hit's lip over the wanted one: SVG and PNG in this folder")
      ->type_name("DIR")
      ->group("Lips");
}

/// Where it is, and how the hits are shown.
void addPlaceOptions(CLI::App* command, FindOptions& options) {
  command->add_option("--bin", options.bins, "Bin; any of several")->type_name("BIN");
  command->add_option("--set", options.sets, "Set; any of several")->type_name("SET");
  command
      ->add_option("--site", options.sites,
                   "Only what stands at this site; any of several (all, $HOLDSHELF_SITE first)")
      ->type_name("SITE");
  command
      ->add_option("--status", options.statuses,
                   "shelf, crate, wall, wash, look or retired; any of several (all but retired)")
      ->type_name("WORD");
  command->add_option("--name", options.text, "Part of the name or id")->type_name("TEXT");
  command
      ->add_option("--sort", options.sort,
                   "A number, id, name or colour-distance; with - before it: falling")
      ->type_name("KEY");
  command->add_option("--limit", options.limit, "Most holds to show; 0: all (20)")->type_name("N");
}

}  // namespace

void addFindCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<FindOptions>();
  CLI::App* command = app.add_subcommand(
      "find",
      "Find holds by numbers, colour, grip and place, e.g. --edge-depth 12..20 --incut 5..");
  addLibraryOption(command, options->library);
  addQuestionOptions(command, *options);
  addLookOptions(command, *options);
  addMountingOptions(command, *options);
  addLipOptions(command, *options);
  addPlaceOptions(command, *options);
  command->callback([options, &job] { job = [options](Console& c) { find(*options, c); }; });
}

}  // namespace holdshelf
