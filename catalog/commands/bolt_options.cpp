// SPDX-License-Identifier: Apache-2.0
#include "catalog/commands/bolt_options.h"

#include <cmath>
#include <cstdlib>
#include <variant>

#include "catalog/measured_text.h"
#include "catalog/recorded_bolt.h"
#include "mesh/bad_input.h"

namespace holdshelf {

namespace {

/// "55", "55 countersunk", or a bolt in full: "M10 x 55", "3/8-16 x 2 1/4 countersunk".
BoltStock stockLine(const std::string& text) {
  BoltStock line;
  const auto read = readBolt(text);
  if (read && !read->thread.empty()) {
    line.set_thread(threadFromText(read->thread));
    line.set_head(read->head);
    line.set_length(read->length.text);
    return line;
  }
  line.set_length(text);
  for (const auto& [word, head] : {std::pair<std::string, BoltHead>(" countersunk", COUNTERSUNK),
                                   std::pair<std::string, BoltHead>(" cap", CAP)})
    if (text.ends_with(word)) {
      line.set_length(text.substr(0, text.size() - word.size()));
      line.set_head(head);
    }
  return line;
}

}  // namespace

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
      throw BadInput("\"" + text +
                     "\" is no stock of bolts: write LENGTH=COUNT, as 55=20, \"55 "
                     "countersunk=20\" or \"M10 x 55=20\".");
    BoltStock line = stockLine(text.substr(0, equals));
    if (line.head() == BOLT_HEAD_UNSPECIFIED)
      line.set_head(boltHead() == COUNTERSUNK ? COUNTERSUNK : CAP);
    if (line.thread() == THREAD_UNSPECIFIED) line.set_thread(boltThread());
    line.set_count(static_cast<int>(count));
    lines.push_back(std::move(line));
  }
  return lines;
}

namespace {

struct NamedSetting {
  const char* name;
  std::variant<double BoltSettings::*, int BoltSettings::*> value;
  double from, to;
};
/// Numbers that no publication gives; what they mean and their defaults are in BoltSettings.
constexpr NamedSetting kSettings[] = {
    {"least_turns", &BoltSettings::least_turns, 1, 30},
    {"cone_tolerance_deg", &BoltSettings::cone_tolerance_deg, 0, 60},
    {"confidence", &BoltSettings::confidence, 0, 10},
    {"screw_diameter_mm", &BoltSettings::screw_diameter_mm, 3, 10},
    {"screw_hold_mm", &BoltSettings::screw_hold_mm, 0, 60},
    {"screw_tip_mm", &BoltSettings::screw_tip_mm, 0, 20},
    {"least_screws", &BoltSettings::least_screws, 1, 6},
    {"pilot_share", &BoltSettings::pilot_share, 0.3, 1}};

std::string settingNames() {
  std::string names;
  for (const NamedSetting& setting : kSettings)
    names += (names.empty() ? "" : ", ") + std::string(setting.name);
  return names;
}

}  // namespace

void setByName(BoltSettings& settings, const std::string& text) {
  const auto equals = text.find('=');
  for (const NamedSetting& setting : kSettings) {
    if (text.substr(0, equals) != setting.name) continue;
    char* end = nullptr;
    const char* number = equals == std::string::npos ? "" : text.c_str() + equals + 1;
    const double value = std::strtod(number, &end);
    if (end == number || *end != '\0' || !(value >= setting.from && value <= setting.to))
      throw BadInput("\"" + text + "\" sets nothing: write " + setting.name + "=NUMBER, from " +
                     decimalText(setting.from, 1) + " to " + decimalText(setting.to, 0) + ".");
    const auto whole = std::get_if<int BoltSettings::*>(&setting.value);
    if (whole != nullptr && value != std::floor(value))
      throw BadInput("\"" + text + "\" sets nothing: " + setting.name + " is a whole number.");
    if (whole != nullptr)
      settings.*(*whole) = static_cast<int>(value);
    else
      settings.*(std::get<double BoltSettings::*>(setting.value)) = value;
    return;
  }
  throw BadInput("\"" + text + "\" names no setting of bolts and screws: there are " +
                 settingNames() + ".");
}

void addBoltSettings(CLI::App* command, BoltSettings& s) {
  const char* group = "Bolts";
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
  command
      ->add_option_function<std::vector<std::string>>(
          "--setting",
          [&s](const std::vector<std::string>& all) {
            try {
              for (const std::string& text : all) setByName(s, text);
            } catch (const BadInput& refused) {
              throw CLI::ValidationError("--setting", refused.what());
            }
          },
          "A judgement set otherwise: " + settingNames())
      ->type_name("NAME=NUMBER")
      ->group(group);
}

void addBoltOptions(CLI::App* command, BoltOptions& options) {
  const char* group = "Bolts";
  addBoltSettings(command, options.settings);
  command
      ->add_flag("--half-inches", options.settings.half_inches,
                 "Inch bolts in steps of 1/2 in only")
      ->group(group);
  command->add_option("--head", options.head, "cap or countersunk (as the seat asks)")
      ->type_name("WORD")
      ->group(group);
  command->add_option("--bolts", options.bolts, "Thread of the bolts at hand (the T-nuts')")
      ->type_name("THREAD")
      ->group(group);
  command
      ->add_option(
          "--have", options.have,
          "Only these lengths are in stock, e.g. 55=20 60=8 or \"2 1/4=12\"; cap heads, or "
          "what --head says, unless named: \"55 countersunk=6\"; with T-nuts of both threads in "
          "full: \"M10 x 55=20\"")
      ->type_name("LENGTH=COUNT")
      ->group(group);
}

}  // namespace holdshelf
