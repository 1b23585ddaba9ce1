// SPDX-License-Identifier: Apache-2.0
#include "catalog/gym.h"

#include <cmath>
#include <cstdint>
#include <set>

#include "catalog/bolt_length.h"
#include "catalog/climbs.h"
#include "catalog/measured_text.h"
#include "catalog/shown_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr const char* kSubject = "gym";

std::string number(double value) { return decimalText(value, value == std::round(value) ? 0 : 1); }

void checkRange(const std::string& where, const char* what, double value, double from, double to,
                const char* unit) {
  if (!(value >= from && value <= to))
    throw BadInput(where + " has " + what + " of " + number(value) + unit + ": give " +
                   number(from) + " to " + number(to) + unit + ".");
}

void checkName(const std::string& name, const std::string& what, std::set<std::string>& seen) {
  if (name.empty()) throw BadInput(what + " has no name: give it one.");
  if (!seen.insert(name).second)
    throw BadInput(what + " is called " + name + " twice: give each a name of its own.");
}

void validatePanel(const WallPanel& panel, const std::string& where) {
  checkRange(where, "a wall angle", panel.wall_angle_deg(), -20, 60, "°");
  checkPanel(panel.fixing(), where);
  checkRange(where, "columns of T-nuts", panel.columns(), 1, 200, "");
  checkRange(where, "rows of T-nuts", panel.rows(), 1, 200, "");
  checkRange(where, "a grid pitch", panel.pitch_mm(), 50, 1000, " mm");
  const double width_mm = panel.pitch_mm() * panel.columns();
  const double height_mm = panel.pitch_mm() * panel.rows();
  std::set<std::string> names;
  for (const WallFeature& feature : panel.features()) {
    checkName(feature.name(), "A feature of " + where, names);
    const std::string what = where + ", " + feature.name() + ",";
    if (feature.kind() == WallFeature::TOP_EDGE)
      checkRange(what, "a height over the lowest T-nuts", feature.at_mm(), 0, height_mm + 3000,
                 " mm");
    else if (feature.kind() == WallFeature::ARETE)
      checkRange(what, "a distance from the first column", feature.at_mm(), -1000, width_mm + 1000,
                 " mm");
    else
      throw BadInput(what + " is no kind of feature: say TOP_EDGE or ARETE.");
  }
}

std::string namesOf(const google::protobuf::RepeatedPtrField<Zone>& zones) {
  std::string names;
  for (const Zone& zone : zones) names += (names.empty() ? "" : ", ") + zone.name();
  return names;
}

/// That no zone or panel is taken out from under a climb.
void checkLeavesClimbs(const Library& library, const Gym& gym) {
  std::set<std::string> kept;
  const auto key = [](const std::string& zone, const std::string& panel) {
    return zone + '\n' + panel;
  };
  for (const Zone& zone : gym.zones()) {
    kept.insert(key(zone.name(), ""));
    for (const WallPanel& panel : zone.panels()) kept.insert(key(zone.name(), panel.name()));
  }
  const auto refuse = [](const Climb& climb, const std::string& what) {
    throw BadInput(climb.id() + " " + climb.name() + " is in " + what +
                   ": strip it before that is taken out, or keep the name.");
  };
  std::set<std::string> gone;  // By this description, not by an earlier one.
  const Gym before = gymOf(library);
  for (const Zone& zone : before.zones()) {
    if (!kept.contains(key(zone.name(), ""))) gone.insert(key(zone.name(), ""));
    for (const WallPanel& panel : zone.panels())
      if (!kept.contains(key(zone.name(), panel.name())))
        gone.insert(key(zone.name(), panel.name()));
  }
  if (gone.empty()) return;
  const ClimbList up = listClimbs(library, false);
  for (const Climb& climb : up.climbs()) {
    if (gone.contains(key(climb.zone(), ""))) refuse(climb, "zone " + climb.zone());
    for (const ClimbHold& held : climb.holds())
      if (held.gone().empty() && held.has_placement() &&
          gone.contains(key(climb.zone(), held.placement().panel())))
        refuse(climb, "zone " + climb.zone() + " with " + held.hold() + " on panel " +
                          held.placement().panel());
  }
}

}  // namespace

Gym gymOf(const Library& library) {
  Gym gym;
  for (Event& event : library.history(kSubject))
    if (event.has_gym()) gym = std::move(*event.mutable_gym());
  return gym;
}

void describeGym(Library& library, const Gym& gym) {
  validateGym(gym);
  Event event;
  event.set_subject(kSubject);
  *event.mutable_gym() = gym;
  library.commit({event}, [&] { checkLeavesClimbs(library, gym); });
}

Gym withDefaults(Gym gym) {
  if (gym.rescan_days() == 0) gym.set_rescan_days(180);
  if (gym.rescan_climbs() == 0) gym.set_rescan_climbs(4);
  if (gym.near_top_mm() == 0) gym.set_near_top_mm(500);
  return gym;
}

void validateGym(const Gym& gym) {
  std::set<std::string> zones, bins;
  for (const Zone& zone : gym.zones()) {
    checkName(zone.name(), "A zone", zones);
    if (zone.panels().empty())
      throw BadInput("Zone " + zone.name() + " has no panel: describe one, or leave the zone out.");
    std::set<std::string> panels;
    for (const WallPanel& panel : zone.panels()) {
      checkName(panel.name(), "A panel of zone " + zone.name(), panels);
      validatePanel(panel, "Panel " + panel.name() + " of zone " + zone.name());
    }
  }
  for (const std::string& bin : gym.bins()) checkName(bin, "A bin of the walking order", bins);
  checkRange("The gym", "days to a new scan", gym.rescan_days(), 0, 10000, "");
  checkRange("The gym", "climbs to a new scan", gym.rescan_climbs(), 0, 1000, "");
  checkRange("The gym", "a nearness to top edges", gym.near_top_mm(), 0, 5000, " mm");
}

const Zone& zoneNamed(const Gym& gym, const std::string& name) {
  for (const Zone& zone : gym.zones())
    if (zone.name() == name) return zone;
  if (gym.zones().empty())
    throw BadInput("No walls are described yet: describe them with holdshelf gym.");
  throw BadInput("There is no zone \"" + givenStart(name, 60) + "\": there are " +
                 namesOf(gym.zones()) + ".");
}

const WallPanel& panelNamed(const Zone& zone, const std::string& name) {
  std::string names;
  for (const WallPanel& panel : zone.panels()) {
    if (panel.name() == name) return panel;
    names += (names.empty() ? "" : ", ") + panel.name();
  }
  if (name.empty() && zone.panels_size() == 1) return zone.panels(0);
  throw BadInput(
      (name.empty() ? "Say which panel" : "There is no panel \"" + givenStart(name, 60) + "\"") +
      " in zone " + zone.name() + ": there are " + names + ".");
}

Zone& zoneToEdit(Gym& gym, const std::string& name) {
  for (Zone& zone : *gym.mutable_zones())
    if (zone.name() == name) return zone;
  Zone& zone = *gym.add_zones();
  zone.set_name(name);
  return zone;
}

WallPanel& panelToEdit(Zone& zone, const std::string& name) {
  for (WallPanel& panel : *zone.mutable_panels())
    if (panel.name() == name) return panel;
  WallPanel& panel = *zone.add_panels();
  panel.set_name(name);
  return panel;
}

const WallPanel& mainPanel(const Zone& zone) {
  if (zone.panels().empty())
    throw BadInput("Zone " + zone.name() +
                   " has no panel: describe the walls anew with holdshelf gym.");
  const auto tnuts = [](const WallPanel& panel) {
    return static_cast<std::int64_t>(panel.columns()) * panel.rows();
  };
  const WallPanel* main = &zone.panels(0);
  for (const WallPanel& panel : zone.panels())
    if (tnuts(panel) > tnuts(*main)) main = &panel;
  return *main;
}

bool sameFixing(const Panel& a, const Panel& b) {
  return a.thread() == b.thread() && a.panel_mm() == b.panel_mm() &&
         a.barrel_mm() == b.barrel_mm() && a.flange_mm() == b.flange_mm();
}

std::optional<NearTop> nearTop(const Gym& gym, const WallPanel& panel, const Placement& placement) {
  if (placement.row() <= 0) return std::nullopt;
  const double height_mm = (placement.row() - 1) * panel.pitch_mm();
  std::optional<NearTop> nearest;
  for (const WallFeature& feature : panel.features()) {
    const double below_mm = feature.at_mm() - height_mm;
    if (feature.kind() != WallFeature::TOP_EDGE ||
        std::abs(below_mm) > withDefaults(gym).near_top_mm())
      continue;
    if (!nearest || std::abs(below_mm) < std::abs(nearest->below_mm))
      nearest = NearTop{&feature, below_mm};
  }
  return nearest;
}

const WallFeature* topEdgeOf(const WallPanel& panel) {
  const WallFeature* highest = nullptr;
  for (const WallFeature& feature : panel.features())
    if (feature.kind() == WallFeature::TOP_EDGE &&
        (highest == nullptr || feature.at_mm() > highest->at_mm()))
      highest = &feature;
  return highest;
}

void checkTnut(const WallPanel& panel, int column, int row) {
  if (column < 1 || column > panel.columns() || row < 1 || row > panel.rows())
    throw BadInput("Panel " + panel.name() + " has no T-nut in column " + std::to_string(column) +
                   ", row " + std::to_string(row) + ": it has " + std::to_string(panel.columns()) +
                   " columns and " + std::to_string(panel.rows()) + " rows.");
}

std::string gymText(const Gym& given) {
  const Gym gym = withDefaults(given);
  std::string text = (gym.name().empty() ? "The gym" : gym.name()) + ", " +
                     std::to_string(gym.zones_size()) + " zones\n";
  std::vector<std::vector<std::string>> rows = {
      {"zone", "panel", "angle", "thread", "panel mm", "barrel", "flange", "grid", "pitch"}};
  std::string features;
  for (const Zone& zone : gym.zones())
    for (const WallPanel& p : zone.panels()) {
      rows.push_back({zone.name(), p.name(), number(p.wall_angle_deg()) + "°",
                      boltSeries(p.fixing().thread()).name, number(p.fixing().panel_mm()),
                      number(p.fixing().barrel_mm()), number(p.fixing().flange_mm()),
                      std::to_string(p.columns()) + " × " + std::to_string(p.rows()),
                      number(p.pitch_mm())});
      for (const WallFeature& f : p.features())
        features += "  " + zone.name() + ", " + p.name() + ": " + f.name() +
                    (f.kind() == WallFeature::TOP_EDGE ? ", a top edge " : ", an arête ") +
                    number(f.at_mm()) +
                    (f.kind() == WallFeature::TOP_EDGE ? " mm over the lowest T-nuts\n"
                                                       : " mm right of the first column\n");
    }
  text += tableText(rows) + features;
  if (!gym.bins().empty()) {
    text += "Walking order of the bins:";
    for (const std::string& bin : gym.bins()) text += " " + bin;
    text += "\n";
  }
  return text + "A new scan is due after " + std::to_string(gym.rescan_days()) +
         " days on the wall or " + std::to_string(gym.rescan_climbs()) +
         " climbs. Near a top edge: within " + number(gym.near_top_mm()) + " mm.\n";
}

}  // namespace holdshelf
