// SPDX-License-Identifier: Apache-2.0
#include "capture/bundle_costs.h"

#include <ceres/cost_function.h>
#include <doctest/doctest.h>

#include <Eigen/Geometry>
#include <memory>

#include "tests/capture/mat_scene.h"

using namespace holdshelf;
using doctest::Approx;
using Blocks = std::vector<std::vector<double>>;

namespace {

std::vector<double> evaluate(const ceres::CostFunction& cost, const Blocks& blocks,
                             std::vector<std::vector<double>>* jacobians = nullptr) {
  std::vector<const double*> parameters;
  std::vector<double*> rows;
  for (const auto& block : blocks) {
    parameters.push_back(block.data());
    if (jacobians)
      jacobians->emplace_back(block.size() * static_cast<std::size_t>(cost.num_residuals()));
  }
  if (jacobians)
    for (auto& jacobian : *jacobians) rows.push_back(jacobian.data());
  std::vector<double> residuals(static_cast<std::size_t>(cost.num_residuals()));
  REQUIRE(cost.Evaluate(parameters.data(), residuals.data(), jacobians ? rows.data() : nullptr));
  return residuals;
}

/// Each derivative against a central difference.
void checkDerivatives(const ceres::CostFunction& cost, const Blocks& blocks) {
  std::vector<std::vector<double>> jacobians;
  evaluate(cost, blocks, &jacobians);
  for (std::size_t b = 0; b < blocks.size(); ++b)
    for (std::size_t k = 0; k < blocks[b].size(); ++k) {
      CAPTURE(b);
      CAPTURE(k);
      const double step = 1e-6 * std::max(1.0, std::abs(blocks[b][k]));
      Blocks above = blocks, below = blocks;
      above[b][k] += step, below[b][k] -= step;
      const auto high = evaluate(cost, above), low = evaluate(cost, below);
      for (std::size_t r = 0; r < high.size(); ++r) {
        const double difference = (high[r] - low[r]) / (2 * step);
        CHECK(std::abs(jacobians[b][r * blocks[b].size() + k] - difference) <
              1e-4 * std::max(1.0, std::abs(difference)));
      }
    }
}

std::vector<double> coeffs(const Eigen::Quaterniond& q) { return {q.x(), q.y(), q.z(), q.w()}; }

}  // namespace

TEST_CASE("bundle costs: a reprojection is the camera's, in standard uncertainties") {
  const CameraModel camera = scene::phone();
  const CameraArray c = toArray(camera);
  const Eigen::Vector3d X(20, -15, 1), t(5, -8, 320);
  for (const double angle : {0.0, 1e-9, 0.7, M_PI - 1e-9, M_PI}) {
    CAPTURE(angle);
    // About the viewing axis, so that the point stays before the camera.
    const Eigen::Quaterniond q(
        Eigen::AngleAxisd(angle, Eigen::Vector3d(0.1, 0.05, 1).normalized()));
    const auto px = camera.project(q * X + t);
    REQUIRE(px);
    const std::unique_ptr<ceres::CostFunction> cost(
        reprojectionCost(*px - Eigen::Vector2d(0.3, -0.2), 0.1));
    const Blocks blocks = {
        {c.begin(), c.end()}, coeffs(q), {t.x(), t.y(), t.z()}, {X.x(), X.y(), X.z()}};
    const auto residuals = evaluate(*cost, blocks);
    CHECK(residuals[0] == Approx(3).epsilon(1e-7));
    CHECK(residuals[1] == Approx(-2).epsilon(1e-7));
    checkDerivatives(*cost, blocks);
  }
}

TEST_CASE("bundle costs: nothing is seen behind the camera") {
  const CameraArray c = toArray(scene::phone());
  const double q[] = {0, 0, 0, 1}, t[] = {0, 0, -1}, X[] = {0, 0, 0};
  const double* parameters[] = {c.data(), q, t, X};
  double residuals[2];
  const std::unique_ptr<ceres::CostFunction> cost(reprojectionCost({10, 10}, 0.1));
  CHECK_FALSE(cost->Evaluate(parameters, residuals, nullptr));
}

TEST_CASE("bundle costs: the camera's parameters there and back") {
  const CameraModel camera = scene::phone();
  CameraModel back{camera.width_px, camera.height_px};
  fromArray(toArray(camera), back);
  const Eigen::Vector3d point(30, -40, 300);
  CHECK((*back.project(point) - *camera.project(point)).norm() == 0);
}

TEST_CASE("bundle costs: a usual camera costs nothing, an unusual one by how much") {
  const std::unique_ptr<ceres::CostFunction> cost(cameraCost(1001, 801, 900, 0.1));
  std::vector<double> c(kCameraParameters, 0.0);
  c[kFx] = c[kFy] = 900, c[kCx] = 500, c[kCy] = 400;
  for (const double r : evaluate(*cost, {c})) CHECK(r == Approx(0));
  c[kFx] = 990, c[kFy] = 990, c[kCx] += 0.03 * 1001, c[kK1] = 0.3, c[kP2] = -0.003;
  const auto r = evaluate(*cost, {c});
  double sum = 0;
  for (const double each : r) sum += each * each;
  CHECK(sum == Approx(4));  // Focal length, middle, k1 and p2: one standard uncertainty each.
  checkDerivatives(*cost, {c});
}

TEST_CASE("bundle costs: a marker may lie bent up to its neighbours, not twisted") {
  const Eigen::Vector2d marker[] = {{0, 20}, {20, 20}, {20, 0}, {0, 0}}, next(40, 0);
  const auto height = [](const Eigen::Vector2d& p) { return 1 + 0.1 * p.x() - 0.05 * p.y(); };
  Blocks blocks;
  for (const Eigen::Vector2d& p : {marker[0], marker[1], marker[2], marker[3], next})
    blocks.push_back({p.x(), p.y(), height(p)});
  const Blocks four(blocks.begin(), blocks.begin() + 4);
  const std::unique_ptr<ceres::CostFunction> twist(twistCost()), bend(bendCost(marker, next)),
      corner(cornerCost(next));
  CHECK(evaluate(*twist, four)[0] == Approx(0));  // In a plane.
  CHECK(evaluate(*bend, blocks)[0] == Approx(0));
  Blocks twisted = four;
  twisted[0][2] += 0.05;
  CHECK(evaluate(*twist, twisted)[0] == Approx(1));
  // A sheet of radius 400 mm leaves its tangent plane by d^2 / 800 at a distance d.
  blocks[4][2] += (next - Eigen::Vector2d(10, 10)).squaredNorm() / 800;
  CHECK(evaluate(*bend, blocks)[0] == Approx(1));
  checkDerivatives(*bend, blocks);
  const auto r = evaluate(*corner, {{next.x() + 0.3, next.y() - 0.3, 6}});
  CHECK(r[0] == Approx(1));
  CHECK(r[1] == Approx(-1));
  CHECK(r[2] == Approx(1));
}
