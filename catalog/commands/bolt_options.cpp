// SPDX-License-Identifier: Apache-2.0
#include "catalog/commands/bolt_options.h"

#include <cstdlib>

#include "mesh/bad_input.h"

namespace holdshelf {

BoltHead BoltOptions::boltHead() const {
  if (head.empty()) return BOLT_HEAD_UNSPECIFIED;
  if (head == "cap") return CAP;
  if (head == "countersunk") return COUNTERSUNK;
  throw BadInput("\"" + head + "\" is not a bolt head: use cap or countersunk.");
}

Thread BoltOptions::boltThread() const {
  return bolts.empty() ? THREAD_UNSPECIFIED : threadFromText(bolts);
}

std::optional<std::vector<BoltStock>> BoltOptions::stock() const {
  if (have.empty()) return std::nullopt;
  std::vector<BoltStock> lines;
  for (const std::string& text : have) {
    const auto equals = text.find('=');
    char* end = nullptr;
    const long count =
        equals == std::string::npos ? -1 : std::strtol(text.c_str() + equals + 1, &end, 10);
    if (count < 0 || count > 1000000 || end == nullptr || *end != '\0' ||
        end == text.c_str() + equals + 1)
      throw BadInput("\"" + text + "\" is no stock of bolts: write LENGTH=COUNT, as 55=20.");
    BoltStock& line = lines.emplace_back();
    line.set_length(text.substr(0, equals));
    line.set_count(static_cast<int>(count));
  }
  return lines;
}

void addBoltOptions(CLI::App* command, BoltOptions& options) {
  const char* group = "Bolts";
  BoltSettings& s = options.settings;
  command
      ->add_option("--engage", s.engagement_mm,
                   "Thread to engage in the T-nut, mm (the whole barrel)")
      ->type_name("MM")
      ->group(group);
  command->add_option("--washer", s.washer_mm, "Washer under cap heads, mm (0)")
      ->type_name("MM")
      ->check(CLI::Range(0.0, 10.0))
      ->group(group);
  command->add_option("--past", s.past_limit_mm, "How far past the T-nut a bolt may end, mm (10)")
      ->type_name("MM")
      ->check(CLI::Range(0.0, 200.0))
      ->group(group);
  command->add_flag("--half-inches", s.half_inches, "Inch bolts in steps of 1/2 in only")
      ->group(group);
  command->add_option("--head", options.head, "cap or countersunk (as the seat asks)")
      ->type_name("WORD")
      ->group(group);
  command->add_option("--bolts", options.bolts, "Thread of the bolts at hand (the T-nuts')")
      ->type_name("THREAD")
      ->group(group);
  command
      ->add_option("--have", options.have,
                   "Only these lengths are in stock, e.g. 55=20 60=8 or \"2 1/4=12\"")
      ->type_name("LENGTH=COUNT")
      ->group(group);
}

}  // namespace holdshelf
