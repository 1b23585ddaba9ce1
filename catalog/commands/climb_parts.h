// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "catalog/commands/bolt_options.h"
#include "catalog/commands/command.h"
#include "proto/climb.pb.h"

namespace holdshelf {

/// What the commands on crates and climbs take.
struct ClimbOptions {
  std::filesystem::path library, pdf;
  std::string climb, hold, other;
  std::vector<std::string> holds;
  std::string name, colour, zone, grade, setter, wish, text, reason, check, bolt, to = "wash";
  std::string paper = "A4", like;
  Placement placement;
  double rotation_deg = 0;
  bool all = false, foot = false, hand = false, dry = false, any_colour = false;
  int limit = 5, pieces = 0;
  BoltOptions bolts;
};
using ClimbOptionsPtr = std::shared_ptr<ClimbOptions>;

/// A part that works on one climb, named first.
CLI::App* addClimbPart(CLI::App* parent, const ClimbOptionsPtr& options, Job& job, const char* name,
                       const char* help, void (*run)(const ClimbOptions&, Console&));

/// `crate suggest`; `climb swaps`, `climb check` and `climb swap`, which crates have as well.
void addSuggestPart(CLI::App* crate, const ClimbOptionsPtr& options, Job& job);
void addSwapParts(CLI::App* climb, const ClimbOptionsPtr& options, Job& job);
void addSwapPart(CLI::App* parent, const ClimbOptionsPtr& options, Job& job);

void tellClimb(const Climb& climb, Console& console);

}  // namespace holdshelf
