// SPDX-License-Identifier: Apache-2.0
#include <cmath>
#include <cstdlib>
#include <memory>
#include <optional>

#include "catalog/commands/command.h"
#include "catalog/commands/grip_options.h"
#include "catalog/compression.h"
#include "catalog/grip_words.h"
#include "catalog/library.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

struct CompressionOptions {
  std::filesystem::path library;
  std::string first, second, span = "80..1500";
  std::optional<double> apart_mm;
  GripOptions grips;
  int limit = 5;
};

struct SpanOfHands {
  double shortest_mm, longest_mm;
};

SpanOfHands parseSpan(const std::string& text) {
  const std::size_t dots = text.find("..");
  const auto number = [&](const std::string& part) {
    char* end = nullptr;
    const double value = std::strtod(part.c_str(), &end);
    return part.empty() || *end != '\0' ? NAN : value;
  };
  if (dots != std::string::npos) {
    const SpanOfHands span{number(text.substr(0, dots)), number(text.substr(dots + 2))};
    if (span.shortest_mm >= 0 && span.longest_mm >= span.shortest_mm &&
        std::isfinite(span.longest_mm))
      return span;
  }
  throw BadInput(
      "--span takes the least and the largest distance of the hands in mm, e.g. "
      "200..900, not \"" +
      text + "\".");
}

void compression(const CompressionOptions& options, Console& console) {
  if (options.second.empty() != !options.apart_mm)
    throw BadInput("Two holds need --apart, the distance of their bolts in mm; one hold has none.");
  if (options.apart_mm && !(*options.apart_mm > 0 && std::isfinite(*options.apart_mm)))
    throw BadInput("--apart takes the distance of two bolts in mm, larger than 0.");
  const auto [shortest_mm, longest_mm] = parseSpan(options.span);
  const double wall_angle_deg = options.grips.mounting().wall_angle_deg;
  const HandModel hand = options.grips.handModel();
  const GripThresholds t = options.grips.gripThresholds();
  const Library library = Library::open(options.library);
  const Scan first = library.currentFullScan(options.first);
  const GripModel left(first.shape(), hand, t);
  CompressionList list;
  list.set_first_hold(options.first);
  list.set_wall_angle_deg(wall_angle_deg);
  std::vector<CompressionPair> pairs;
  if (options.second.empty()) {
    pairs = compressionPairs(left, wall_angle_deg, shortest_mm, longest_mm);
  } else {
    list.set_second_hold(options.second);
    list.set_apart_mm(*options.apart_mm);
    const Scan second = library.currentFullScan(options.second);
    pairs = compressionPairs(left, GripModel(second.shape(), hand, t), *options.apart_mm,
                             wall_angle_deg, shortest_mm, longest_mm);
  }
  for (CompressionPair& pair : pairs) *list.add_pairs() = std::move(pair);
  list.add_cautions(gripCaution());
  console.say(compressionText(list, t, options.limit));
  console.result(list);
}

}  // namespace

void addCompressionCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<CompressionOptions>();
  CLI::App* command = app.add_subcommand(
      "compression",
      "Which opposed, non-positive faces of one or two holds can be squeezed between the hands");
  command->add_option("id", options->first, "Id of the hold, of two the left one")
      ->required()
      ->type_name("ID");
  command->add_option("right", options->second, "Id of the right hold of two")->type_name("ID");
  command->add_option("--apart", options->apart_mm, "Distance of the two holds' bolts, mm")
      ->type_name("MM");
  command->add_option("--span", options->span, "Distance between the two hands, mm (80..1500)")
      ->type_name("FROM..TO");
  addLibraryOption(command, options->library);
  addGripOptions(command, options->grips, false);
  command->add_option("--limit", options->limit, "Most pairs to show; 0: all (5)")->type_name("N");
  command->callback([options, &job] { job = [options](Console& c) { compression(*options, c); }; });
}

}  // namespace holdshelf
