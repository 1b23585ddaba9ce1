// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cmath>
#include <numbers>
#include <random>
#include <string>
#include <vector>

#include "catalog/lip_curve.h"
#include "catalog/lip_probe.h"
#include "proto/hold.pb.h"

/// Holds by the hundred thousand for the benchmarks of search.
namespace holdshelf::bench {

/// One hold: a depth, radius and slope that swing with rotation about means of their own.
inline Hold makeHold(std::mt19937& random, int number) {
  std::uniform_real_distribution<double> uniform(0, 1);
  constexpr const char* kColours[] = {"red",   "vivid red", "blue", "yellow", "green",
                                      "black", "purple",    "pink", "orange", "white"};
  Hold hold;
  hold.set_id("H-" + std::to_string(number));
  hold.set_status(SHELF);
  hold.mutable_colour()->set_name(kColours[random() % 10]);
  Shape& shape = *hold.add_scans()->mutable_shape();
  shape.mutable_protrusion_mm()->set_value(15 + 80 * uniform(random));
  shape.mutable_volume_mm3()->set_value(2e4 + 8e5 * uniform(random));
  const double depth = 5 + 35 * uniform(random), radius = 2 + 20 * uniform(random);
  const double slope = 50 * uniform(random) - 25, phase = 2 * std::numbers::pi * uniform(random);
  for (int step = 0; step < 72; ++step) {
    const double swing = std::cos(step * std::numbers::pi / 36 + phase);
    if (swing < -0.6) continue;  // Nothing to hold there.
    Grip& grip = *shape.add_grips();
    grip.set_rotation_deg(5 * step);
    grip.mutable_edge_depth_mm()->set_value(depth * (1 + 0.5 * swing));
    grip.mutable_lip_radius_mm()->set_value(radius * (1 - 0.3 * swing));
    grip.mutable_incut_deg()->set_value(slope + 15 * swing);
    grip.mutable_edge_width_mm()->set_value(20 + 60 * uniform(random));
    grip.set_fingers(1 + static_cast<int>(random() % 4));
  }
  return hold;
}

/// Lips of one base hold: runs around the turn whose radius and incut swing with rotation.
inline std::string baseLips(std::mt19937& random) {
  std::uniform_real_distribution<double> uniform(0, 1);
  const double radius = 1.5 + 14 * uniform(random), incut = 45 * uniform(random) - 25;
  const double depth = 18 + 22 * uniform(random), phase = 2 * std::numbers::pi * uniform(random);
  const int runs = 6 + static_cast<int>(random() % 13);
  std::vector<LipRun> lips;
  for (int i = 0; i < runs; ++i) {
    const double swing = std::cos(2 * std::numbers::pi * i / runs + phase);
    const double r = radius * (1 + 0.4 * swing);
    const SectionPath path = lipOfNumbers(r, incut - 15 + 15 * swing, depth + 1.2 * r);
    LipRun& run = lips.emplace_back();
    run.first_step = 72 * i / runs;
    run.steps = 72 * (i + 1) / runs - run.first_step;
    run.curve = lipCurveAt(path, path[46]);
  }
  return packLips(lips);
}

/// The same lips bent a little: directions wander by up to some 10 degrees along each curve.
inline std::string perturbed(std::string packed, std::mt19937& random) {
  for (std::size_t run = 1; run < packed.size(); run += kPackedRun) {
    double bend = 0;
    const double drift = (static_cast<double>(random() % 201) - 100) / 400;
    for (std::size_t i = run + 2; i < run + kPackedRun; ++i) {
      bend += drift + (static_cast<double>(random() % 101) - 50) / 60;
      packed[i] = static_cast<char>(packed[i] + static_cast<int>(std::lround(bend)));
    }
  }
  return packed;
}

}  // namespace holdshelf::bench
