// SPDX-License-Identifier: Apache-2.0
#include "catalog/climb_pick.h"

#include <algorithm>
#include <cctype>
#include <map>
#include <set>

#include "catalog/bolt_bag.h"
#include "catalog/climbs.h"
#include "catalog/gym.h"
#include "catalog/hold_record.h"

namespace holdshelf {
namespace {

/// Not mounted yet, and the zone's panels take different ones.
bool dependsOnPanel(const BoltAdvice& advice) {
  return std::any_of(advice.elsewhere().begin(), advice.elsewhere().end(),
                     [&](const PanelBolt& bolt) { return bolt.label() != advice.label(); });
}

/// "M10 × 35 on wave lower, M10 × 40 on wave top" where that is not known yet, each with its count;
/// empty where no panel of the zone has one.
std::string boltWords(const BoltAdvice& advice) {
  const int each = std::max(1, advice.screws()) * std::max(1, advice.pieces());
  const auto counted = [&](const std::string& label) {
    if (label.empty()) return std::string("none");
    return (each > 1 ? std::to_string(each) + " × " : "") + label;
  };
  bool any = !advice.label().empty();
  std::string others;
  for (const PanelBolt& bolt : advice.elsewhere()) {
    any = any || !bolt.label().empty();
    others += ", " + counted(bolt.label()) + " on " + bolt.panel();
  }
  if (!any) return "";
  const std::string text = counted(advice.label());
  return dependsOnPanel(advice) ? text + " on " + advice.assumed_panel() + others : text;
}

/// Splits "A10" into "A" and 10, so that bins sort as one walks.
std::pair<std::string, long> binKey(const std::string& bin) {
  std::size_t digits = bin.size();
  while (digits > 0 && std::isdigit(static_cast<unsigned char>(bin[digits - 1])) != 0) --digits;
  const std::string number = bin.substr(digits).substr(0, 9);
  return {bin.substr(0, digits), number.empty() ? -1 : std::stol(number)};
}

}  // namespace

void askForZone(const Zone& zone, const std::string& panel_name, BoltQuestion& question) {
  question.zone = zone.name();
  const WallPanel& asked = panel_name.empty() ? mainPanel(zone) : panelNamed(zone, panel_name);
  question.panel = asked.fixing();
  if (!panel_name.empty()) return;
  for (const WallPanel& panel : zone.panels())
    if (!sameFixing(panel.fixing(), asked.fixing()))
      question.elsewhere.push_back({panel.name(), panel.fixing()});
  if (!question.elsewhere.empty()) question.assumed_panel = asked.name();
}

std::vector<BoltQuestion> climbBoltQuestions(const Library& library, const Climb& climb) {
  const Gym gym = gymOf(library);
  const Zone& zone = zoneNamed(gym, climb.zone());
  std::vector<BoltQuestion> questions;
  for (const ClimbHold& held : climb.holds()) {
    if (!held.gone().empty()) continue;
    BoltQuestion question = boltQuestionOf(library.hold(held.hold()));
    askForZone(zone, held.placement().panel(), question);
    question.pieces = std::max(1, held.pieces());
    questions.push_back(std::move(question));
  }
  return questions;
}

PickList pickList(const Library& library, const std::string& id, const BoltSettings& settings,
                  const std::vector<BoltStock>* stock, BoltHead head, Thread bolts_at_hand) {
  PickList list;
  *list.mutable_climb() = climbOf(library, id);
  auto questions = climbBoltQuestions(library, list.climb());
  for (BoltQuestion& question : questions) {
    question.head = head;
    question.bolts = bolts_at_hand;
  }
  *list.mutable_bolts() = packBolts(questions, settings, stock);
  std::map<std::string, std::string> bolts;
  std::set<std::string> by_panel;
  for (const BoltAdvice& advice : list.bolts().bolts()) {
    const std::string words = boltWords(advice);
    if (words.empty()) continue;
    std::string& text = bolts[advice.hold()];
    text += (text.empty() ? "" : ", ") + words;
    if (dependsOnPanel(advice)) by_panel.insert(advice.hold());
  }
  std::vector<std::pair<std::string, PickLine>> lines;
  for (const ClimbHold& held : list.climb().holds()) {
    if (!held.gone().empty()) continue;
    const Hold hold = library.hold(held.hold());
    PickLine line;
    line.set_hold(hold.id());
    line.set_name(hold.name());
    line.set_wish(held.wish());
    line.set_foot(held.foot());
    line.set_colour(hold.colour().name());
    line.set_count(piecesOf(hold));
    line.set_bolt(bolts[hold.id()]);
    line.set_bolt_depends_on_panel(by_panel.contains(hold.id()));
    lines.emplace_back(hold.bin(), std::move(line));
  }
  const Gym gym = gymOf(library);
  std::stable_sort(lines.begin(), lines.end(),
                   [&](const auto& a, const auto& b) { return binBefore(gym, a.first, b.first); });
  for (auto& [bin, line] : lines) {
    if (list.bins().empty() || list.bins().rbegin()->bin() != bin) list.add_bins()->set_bin(bin);
    *list.mutable_bins()->rbegin()->add_lines() = std::move(line);
  }
  return list;
}

std::string pickText(const PickList& list) {
  const Climb& climb = list.climb();
  std::string text = climb.id() + " " + climb.name() + ": " + climb.colour() + ", " + climb.zone() +
                     (climb.grade().empty() ? "" : ", " + climb.grade()) + "\n";
  for (const PickBin& bin : list.bins()) {
    text += (bin.bin().empty() ? "no bin" : bin.bin()) + "\n";
    for (const PickLine& line : bin.lines())
      text += "  [ ] " + line.hold() + " " + line.name() +
              (line.count() > 1 ? " (" + std::to_string(line.count()) + " pieces)" : "") +
              (line.foot()           ? ", foot"
               : line.wish().empty() ? ""
                                     : ", " + line.wish()) +
              "  " + (line.bolt().empty() ? "bolt: see below" : line.bolt()) + "\n";
  }
  return text + "\n" + boltText(list.bolts());
}

bool binBefore(const Gym& gym, const std::string& a, const std::string& b) {
  const auto place = [&](const std::string& bin) {
    return std::find(gym.bins().begin(), gym.bins().end(), bin) - gym.bins().begin();
  };
  return place(a) != place(b) ? place(a) < place(b) : binKey(a) < binKey(b);
}

}  // namespace holdshelf
