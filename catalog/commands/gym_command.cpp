// SPDX-License-Identifier: Apache-2.0
// The walls: described as JSON or panel by panel.
#include <algorithm>
#include <memory>
#include <optional>

#include "catalog/blob_store.h"
#include "catalog/bolt_series.h"
#include "catalog/commands/command.h"
#include "catalog/gym.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

struct GymOptions {
  std::filesystem::path library, file;
  std::string zone, panel, feature, name, thread;
  std::optional<double> angle, thickness, barrel, flange, pitch, top_edge, arete, near_top;
  std::optional<int> columns, rows, rescan_days, rescan_climbs;
  std::vector<std::string> bins;
};
using GymOptionsPtr = std::shared_ptr<GymOptions>;

void tell(const Gym& gym, Console& console) {
  console.say(gymText(gym));
  console.result(gym);
}

/// Reads the walls, lets `change` have them, stores them and says what they are now.
template <typename Change>
void edit(const GymOptions& options, Console& console, Change change) {
  Library library = Library::openOrCreate(options.library);
  Gym gym = gymOf(library);
  change(gym);
  describeGym(library, gym);
  tell(gym, console);
}

void set(const GymOptions& options, Console& console) {
  edit(options, console, [&](Gym& gym) {
    gym.Clear();
    fromJson(readFile(options.file), options.file.string(), gym);
  });
}

void general(const GymOptions& options, Console& console) {
  edit(options, console, [&](Gym& gym) {
    if (!options.name.empty()) gym.set_name(options.name);
    if (options.rescan_days) gym.set_rescan_days(*options.rescan_days);
    if (options.rescan_climbs) gym.set_rescan_climbs(*options.rescan_climbs);
    if (options.near_top) gym.set_near_top_mm(*options.near_top);
    if (!options.bins.empty()) gym.mutable_bins()->Assign(options.bins.begin(), options.bins.end());
  });
}

void panel(const GymOptions& o, Console& console) {
  edit(o, console, [&](Gym& gym) {
    WallPanel& p = panelToEdit(zoneToEdit(gym, o.zone), o.panel);
    if (o.angle) p.set_wall_angle_deg(*o.angle);
    if (o.thickness) p.mutable_fixing()->set_panel_mm(*o.thickness);
    if (o.barrel) p.mutable_fixing()->set_barrel_mm(*o.barrel);
    if (o.flange) p.mutable_fixing()->set_flange_mm(*o.flange);
    if (!o.thread.empty()) p.mutable_fixing()->set_thread(threadFromText(o.thread));
    if (o.columns) p.set_columns(*o.columns);
    if (o.rows) p.set_rows(*o.rows);
    if (o.pitch) p.set_pitch_mm(*o.pitch);
  });
}

void feature(const GymOptions& o, Console& console) {
  if (o.top_edge.has_value() == o.arete.has_value())
    throw BadInput("Say where the feature is: --top-edge MM or --arete MM, one of them.");
  edit(o, console, [&](Gym& gym) {
    (void)panelNamed(zoneNamed(gym, o.zone), o.panel);
    WallPanel& p = panelToEdit(zoneToEdit(gym, o.zone), o.panel);
    const auto same = std::find_if(p.features().begin(), p.features().end(),
                                   [&](const WallFeature& f) { return f.name() == o.feature; });
    if (same != p.features().end()) p.mutable_features()->erase(same);
    WallFeature& f = *p.add_features();
    f.set_name(o.feature);
    f.set_kind(o.top_edge ? WallFeature::TOP_EDGE : WallFeature::ARETE);
    f.set_at_mm(o.top_edge ? *o.top_edge : *o.arete);
  });
}

void remove(const GymOptions& o, Console& console) {
  edit(o, console, [&](Gym& gym) {
    const auto named = [](const std::string& name) {
      return [&name](const auto& item) { return item.name() == name; };
    };
    (void)zoneNamed(gym, o.zone);
    if (o.panel.empty()) {
      auto& zones = *gym.mutable_zones();
      zones.erase(std::find_if(zones.begin(), zones.end(), named(o.zone)));
      return;
    }
    (void)panelNamed(zoneNamed(gym, o.zone), o.panel);
    auto& panels = *zoneToEdit(gym, o.zone).mutable_panels();
    if (o.feature.empty()) {
      panels.erase(std::find_if(panels.begin(), panels.end(), named(o.panel)));
      return;
    }
    auto& features = *panelToEdit(zoneToEdit(gym, o.zone), o.panel).mutable_features();
    const auto at = std::find_if(features.begin(), features.end(), named(o.feature));
    if (at == features.end())
      throw BadInput("Panel " + o.panel + " has no feature " + o.feature + ".");
    features.erase(at);
  });
}

CLI::App* addPart(CLI::App* gym, const GymOptionsPtr& options, Job& job, const char* name,
                  const char* help, void (*run)(const GymOptions&, Console&)) {
  CLI::App* command = gym->add_subcommand(name, help);
  addLibraryOption(command, options->library);
  command->callback(
      [options, &job, run] { job = [options, run](Console& c) { run(*options, c); }; });
  return command;
}

void addPanelPart(CLI::App* gym, const GymOptionsPtr& options, Job& job) {
  CLI::App* c =
      addPart(gym, options, job, "panel", "Describe a panel, or change what is said of it", panel);
  c->add_option("zone", options->zone, "Zone")->required()->type_name("ZONE");
  c->add_option("panel", options->panel, "Panel")->required()->type_name("PANEL");
  c->add_option("--wall-angle", options->angle, "Past vertical: -20 slab to 60 overhang")
      ->type_name("DEG");
  c->add_option("--thickness", options->thickness, "Of the panel, mm")->type_name("MM");
  c->add_option("--barrel", options->barrel, "Of the T-nuts, mm")->type_name("MM");
  c->add_option("--flange", options->flange, "Of the T-nuts, behind the panel, mm")
      ->type_name("MM");
  c->add_option("--thread", options->thread, "M10 or 3/8-16")->type_name("THREAD");
  c->add_option("--columns", options->columns, "Of T-nuts, from the climber's left");
  c->add_option("--rows", options->rows, "Of T-nuts, from the bottom");
  c->add_option("--pitch", options->pitch, "Between T-nuts, mm")->type_name("MM");
}

void addFeatureParts(CLI::App* gym, const GymOptionsPtr& options, Job& job) {
  CLI::App* f = addPart(gym, options, job, "feature", "Name a top edge or an arête", feature);
  CLI::App* r =
      addPart(gym, options, job, "remove", "Take out a zone, a panel or a feature", remove);
  for (CLI::App* c : {f, r}) {
    c->add_option("zone", options->zone, "Zone")->required()->type_name("ZONE");
    c->add_option("panel", options->panel, "Panel")->required(c == f)->type_name("PANEL");
    c->add_option("feature", options->feature, "Its name")->required(c == f)->type_name("NAME");
  }
  f->add_option("--top-edge", options->top_edge, "A top edge this high over the lowest T-nuts, mm")
      ->type_name("MM");
  f->add_option("--arete", options->arete, "An arête this far right of the first column, mm")
      ->type_name("MM");
}

}  // namespace

void addGymCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<GymOptions>();
  CLI::App* gym = app.add_subcommand("gym", "Describe the walls: zones, panels, T-nuts, top edges");
  gym->require_subcommand(1);
  addPart(gym, options, job, "show", "Say what is described",
          [](const GymOptions& o, Console& c) { tell(gymOf(Library::open(o.library)), c); });
  CLI::App* file = addPart(gym, options, job, "set", "Take the whole description from JSON", set);
  file->add_option("file", options->file, "As gym show --json writes it")
      ->required()
      ->type_name("FILE.json");
  addPanelPart(gym, options, job);
  addFeatureParts(gym, options, job);
  CLI::App* all = addPart(gym, options, job, "rules", "Name the gym; when to scan anew", general);
  all->add_option("--name", options->name, "Name of the gym")->type_name("TEXT");
  all->add_option("--rescan-days", options->rescan_days, "Days on the wall to a new scan (180)");
  all->add_option("--rescan-climbs", options->rescan_climbs, "Climbs to a new scan (4)");
  all->add_option("--near-top", options->near_top, "What counts as near a top edge, mm (500)")
      ->type_name("MM");
  all->add_option("--bins", options->bins, "Bins in walking order")->type_name("BIN...");
}

}  // namespace holdshelf
