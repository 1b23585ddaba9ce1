// SPDX-License-Identifier: Apache-2.0
#include "catalog/lip_curve.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <random>

#include "catalog/lip_probe.h"
#include "mesh/bad_input.h"
#include "mesh/measure_shape.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using Eigen::Vector2d;

namespace {

Shape measured(const ExactHold& hold) {
  return measureShape(meshSdf(hold.solid, hold.box_mm, 0.7));
}

/// Smallest gap of the probe to any lip of the shape.
double nearestGap(const LipProbe& probe, const std::vector<LipRun>& runs, double* middle_deg) {
  double best = 1e300;
  for (const LipRun& run : runs)
    if (const double gap = bestPlacement(probe, run.curve).second; gap < best)
      best = gap, *middle_deg = run.middle_deg();
  return best;
}

/// A grip at a rotation whose section is the straight line to a point.
void addLip(Shape& shape, double rotation_deg, const Vector2d& to) {
  shape.add_grips()->set_rotation_deg(rotation_deg);
  Section& section = *shape.add_sections();
  section.set_rotation_deg(rotation_deg);
  section.add_points_mm();
  Point2& end = *section.add_points_mm();
  end.set_x(to.x());
  end.set_y(to.y());
}

/// Whether a run has its lip at a step of 5 degrees.
bool isThere(const std::vector<LipRun>& runs, int step) {
  return std::any_of(runs.begin(), runs.end(), [&](const LipRun& run) {
    return (step - run.first_step + 72) % 72 < run.steps;
  });
}

}  // namespace

TEST_CASE("lip curve: steps are straight millimetres on the line, and on along the wall") {
  // A quarter circle of 10 mm from the face (facing +z) to a grip face that ends at the wall.
  SectionPath path = {{-20, 0}, {-20, 30}, {0, 30}};
  for (int i = 1; i <= 90; ++i)
    path.emplace_back(10 * std::sin(i * M_PI / 180), 20 + 10 * std::cos(i * M_PI / 180));
  path.emplace_back(10, 0);
  const LipCurve curve = lipCurveAt(path, {10 * std::sqrt(0.5), 20 + 10 * std::sqrt(0.5)});
  CHECK(curve.at_mm[LipCurve::kBefore].norm() == 0);
  for (std::size_t i = 1; i < curve.at_mm.size(); ++i)
    CHECK(std::abs((curve.at_mm[i] - curve.at_mm[i - 1]).norm() - 1) < 1e-4);
  // On the arc a chord of 1 mm turns by 2 asin(1 / 20): the fifth point before the middle.
  const double turned = M_PI / 4 - 5 * 2 * std::asin(0.05);
  const Vector2d expected(10 * std::sin(turned) - 10 * std::sqrt(0.5),
                          10 * std::cos(turned) - 10 * std::sqrt(0.5));
  CHECK((curve.at_mm[LipCurve::kBefore - 5].cast<double>() - expected).norm() < 0.01);
  // 7.85 mm of arc and 20 mm of grip face lie behind the middle; after that comes the wall... 24
  // steps reach 16 mm down the face.
  CHECK(std::abs(curve.at_mm.back().x() - (10 - 10 * std::sqrt(0.5))) < 0.01);

  SectionPath shallow = {{-20, 0}, {-20, 4}, {0, 4}, {0, 0}};
  const LipCurve chip = lipCurveAt(shallow, {0, 4});
  CHECK(std::abs(chip.at_mm.back().y() + 4) < 1e-3);  // On the wall,
  CHECK(chip.at_mm.back().x() > 19);                  // and along it.
}

TEST_CASE("lip curve: packing keeps every point to a hundredth of a millimetre") {
  const SectionPath path = lipOfNumbers(3, -17.3, 21);
  LipRun run;
  run.first_step = 71;
  run.steps = 4;
  run.curve = lipCurveAt(path, path[45]);
  const std::string packed = packLips(std::vector<LipRun>{run, run});
  CHECK(packed.size() == 1 + 2 * kPackedRun);
  const std::vector<LipRun> back = unpackLips(packed);
  REQUIRE(back.size() == 2);
  CHECK(back[1].first_step == 71);
  CHECK(back[1].steps == 4);
  for (std::size_t i = 0; i < run.curve.at_mm.size(); ++i)
    CHECK((back[1].curve.at_mm[i] - run.curve.at_mm[i]).norm() < 0.02);
  for (std::size_t length = 1; length < packed.size(); ++length)
    CHECK_THROWS_AS(unpackLips(packed.substr(0, length)), BadInput);
  CHECK(unpackLips("").empty());
}

TEST_CASE("lip run: rotations through zero") {
  LipRun run;
  run.first_step = 70;  // 350 to 365.
  run.steps = 4;
  CHECK(run.meets(0, 2));
  CHECK(run.meets(350, 350));
  CHECK(run.meets(710, 712));
  CHECK_FALSE(run.meets(10, 340));
}

TEST_CASE("lip runs: where lips come and go, those stay that are least like others") {
  // 36 stretches of one step each; with every third a lip of its own.
  for (const double step_deg : {10.0, 14.0}) {
    CAPTURE(step_deg);
    Shape shape;
    std::vector<int> there;
    for (int i = 0; i * step_deg < 360; ++i) {
      const double facing = (i % 3 == 0 ? 20 + 4 * i : 5) * M_PI / 180;
      addLip(shape, i * step_deg, 30 * Vector2d(std::cos(facing), std::sin(facing)));
      there.push_back(static_cast<int>(std::lround(i * step_deg / 5)));
    }
    const std::vector<LipRun> runs = lipRuns(shape);
    CHECK(runs.size() == kMostRuns);
    CHECK(unpackLips(packLips(runs)).size() == kMostRuns);
    int kept = 0;
    for (int step = 0; step < 72; ++step) {
      const bool lip = std::find(there.begin(), there.end(), step) != there.end();
      if (!lip) CHECK_FALSE(isThere(runs, step));  // None is claimed where there is none.
      kept += isThere(runs, step) ? 1 : 0;
    }
    CHECK(kept == static_cast<int>(kMostRuns));
    for (std::size_t i = 0; i < there.size(); i += 3) CHECK(isThere(runs, there[i]));  // Their own.
  }
}

TEST_CASE("lip runs: at most so many of any lips, and each at rotations of its own") {
  std::mt19937 random(20310504);
  const auto upTo = [&](double most) {
    return most * static_cast<double>(random()) / 4294967295.0;
  };
  for (int round = 0; round < 300; ++round) {
    CAPTURE(round);
    Shape shape;
    std::array<bool, 72> there{};
    for (int step = 0; step < 72; ++step)
      if (round % 2 == 0 ? random() % 4 != 0 : step % 2 == 0 || random() % 6 == 0) {
        addLip(shape, step * 5, Vector2d(upTo(40) - 20, upTo(40)));
        there.at(static_cast<std::size_t>(step)) = true;
      }
    const std::vector<LipRun> runs = lipRuns(shape);
    CHECK(runs.size() <= kMostRuns);
    for (int step = 0; step < 72; ++step)
      if (!there.at(static_cast<std::size_t>(step))) CHECK_FALSE(isThere(runs, step));
  }
}

TEST_CASE("lip runs: what is no number, or that of no hold, is no lip") {
  const double none = std::nan(""), endless = INFINITY;
  for (const Vector2d& to : {Vector2d(none, 3), Vector2d(30, none), Vector2d(endless, 0),
                             Vector2d(-endless, endless), Vector2d(1e300, -1e300)}) {
    Shape shape;
    for (int step = 0; step < 72; step += 2) addLip(shape, step * 5, to);
    for (const LipRun& run : lipRuns(shape))
      for (const auto& at : run.curve.at_mm) CHECK(at.norm() <= LipCurve::kPoints);
  }
  Shape nowhere;
  for (const double rotation : {none, endless, -endless}) addLip(nowhere, rotation, {30, 10});
  CHECK(lipRuns(nowhere).empty());
  Shape turned;
  for (const double rotation : {-1e300, 1e300, -725.0}) addLip(turned, rotation, {30, 10});
  for (const LipRun& run : lipRuns(turned)) {
    CHECK(run.first_step >= 0);
    CHECK(run.first_step < 72);
  }
}

TEST_CASE("lip curve: drawn sections of exact shapes find themselves") {
  // The truth is the profile that the solid was built from, drawn from its numbers.
  struct Case {
    double depth_mm, radius_mm, incut_deg;
  };
  std::vector<std::vector<LipRun>> lips;
  const std::vector<Case> cases = {{20, 4, 8}, {12, 3, -15}, {26, 12, -6}, {14, 1.5, 0}};
  for (const Case& c : cases) {
    EdgeSpec spec;
    spec.depth_mm = c.depth_mm;
    spec.lip_radius_mm = c.radius_mm;
    spec.incut_deg = c.incut_deg;
    spec.root_radius_mm = 1;
    spec.protrusion_mm = c.depth_mm + 8;  // The drawn edge is the deepest.
    lips.push_back(lipRuns(measured(edgeHold(spec))));
    CHECK(lips.back().size() <= kMostRuns);
    CHECK(packLips(lips.back()).size() <= 1024);
  }
  for (std::size_t drawn = 0; drawn < cases.size(); ++drawn) {
    const Case& c = cases[drawn];
    CAPTURE(c.radius_mm);
    SectionPath path = lipOfNumbers(c.radius_mm, c.incut_deg, c.depth_mm);
    for (Vector2d& p : path) p += Vector2d(313, -40);            // From any origin,
    if (drawn % 2 == 1) std::reverse(path.begin(), path.end());  // in either direction.
    const LipProbe probe = probeDrawn(path);
    std::vector<double> gaps;
    double at_deg = 0;
    for (const auto& runs : lips) gaps.push_back(nearestGap(probe, runs, &at_deg));
    nearestGap(probe, lips[drawn], &at_deg);
    CHECK(std::cos(at_deg * M_PI / 180) > 0.85);  // Pulled straight down, as it was built.
    CHECK(gaps[drawn] < 0.25);
    for (std::size_t other = 0; other < cases.size(); ++other)
      if (other != drawn) CHECK(gaps[other] > 2 * gaps[drawn]);
  }
}
