// SPDX-License-Identifier: Apache-2.0
#include "catalog/lip_index.h"

#include <tbb/parallel_for.h>
#include <tbb/parallel_invoke.h>

#include <Eigen/Eigenvalues>
#include <Eigen/QR>
#include <algorithm>
#include <atomic>
#include <cmath>
#include <mutex>
#include <queue>
#include <unordered_map>

#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

using Eigen::VectorXf;

constexpr int kNumbers = 2 * LipCurve::kPoints;  // x and y by turns.
constexpr float kQuantum = 0.01F;                // Of a stored component.
constexpr std::uint32_t kLeaves = 32;            // In a node that is not divided further.
constexpr std::uint32_t kSample = 20'000;        // Curves that the components are found from.
constexpr float kRounding_mm = 1e-4F;            // Bounds are float sums.
constexpr std::size_t kFewHolds = 256;           // That are kept sorted while searching.
constexpr std::uint32_t kNobody = ~0U;           // Whose curves were replaced.
constexpr std::size_t kMostBeside = 20'000;      // Curves that are tried one by one.

/// A line's points less their mean: the shift that brings two lines nearest is then none.
VectorXf centred(std::span<const Eigen::Vector2f> points) {
  VectorXf numbers(2 * static_cast<Eigen::Index>(points.size()));
  Eigen::Vector2f mean = Eigen::Vector2f::Zero();
  for (const auto& p : points) mean += p / static_cast<float>(points.size());
  for (std::size_t i = 0; i < points.size(); ++i)
    numbers.segment<2>(2 * static_cast<Eigen::Index>(i)) = points[i] - mean;
  return numbers;
}

/// Rows of the points that a placement covers, less their mean.
Eigen::MatrixXf restricted(const Eigen::MatrixXf& whole, int first, Eigen::Index points) {
  Eigen::MatrixXf part = whole.middleRows(2 * first, 2 * points);
  for (Eigen::Index column = 0; column < part.cols(); ++column)
    for (int axis = 0; axis < 2; ++axis) {
      float mean = 0;
      for (Eigen::Index i = 0; i < points; ++i) mean += part(2 * i + axis, column);
      mean /= static_cast<float>(points);
      for (Eigen::Index i = 0; i < points; ++i) part(2 * i + axis, column) -= mean;
    }
  return part;
}

}  // namespace

/// For components c: gap >= (sqrt(beyond + |target - form c|²) - rest) / sqrt(points).
struct LipIndex::Aim {
  std::array<std::array<float, kComponents>, kComponents> form;  // Upper triangle, times kQuantum.
  std::array<float, kComponents> target;
  float beyond = 0;
  float per_gap = 1;  // sqrt(points).

  float bound(const Leaf& leaf) const {
    float sum = beyond;
    for (int row = 0; row < kComponents; ++row) {
      float value = target[static_cast<std::size_t>(row)];
      for (int k = row; k < kComponents; ++k)
        value -= form[static_cast<std::size_t>(row)][static_cast<std::size_t>(k)] *
                 leaf.at[static_cast<std::size_t>(k)];
      sum += value * value;
    }
    return (std::sqrt(sum) - leaf.rest) / per_gap - kRounding_mm;
  }

  float bound(const Node& node) const {
    std::array<float, kComponents> middle, half;
    for (std::size_t k = 0; k < kComponents; ++k) {
      middle[k] = 0.5F * static_cast<float>(node.most[k] + node.least[k]);
      half[k] = 0.5F * static_cast<float>(node.most[k] - node.least[k]);
    }
    float sum = beyond;
    for (std::size_t row = 0; row < kComponents; ++row) {
      float value = target[row], reach = 0;
      for (std::size_t k = row; k < kComponents; ++k) {
        value -= form[row][k] * middle[k];
        reach += std::abs(form[row][k]) * half[k];
      }
      const float least = std::max(0.0F, std::abs(value) - reach);
      sum += least * least;
    }
    return (std::sqrt(sum) - node.rest) / per_gap - kRounding_mm;
  }
};

/// The best lip of each hold, of the best holds; safe to offer to from several threads.
struct LipIndex::Nearest {
  Nearest(std::size_t most, double within_mm) : count(most), limit(static_cast<float>(within_mm)) {}

  void offer(const LipFound& found) {
    const std::lock_guard lock(mutex);
    if (count == 0 || count > kFewHolds) {
      const auto [at, added] = by_hold.try_emplace(found.hold, found);
      if (!added && found.gap_mm < at->second.gap_mm) at->second = found;
      return;
    }
    const auto same = std::find_if(best.begin(), best.end(),
                                   [&](const LipFound& f) { return f.hold == found.hold; });
    if (same != best.end()) {
      if (same->gap_mm <= found.gap_mm) return;
      best.erase(same);
    }
    best.insert(std::upper_bound(best.begin(), best.end(), found, before), found);
    if (best.size() > count) best.pop_back();
    if (best.size() == count)
      limit = std::min<float>(limit, std::nextafter(static_cast<float>(best.back().gap_mm), 1e9F));
  }

  std::vector<LipFound> sorted() {
    for (auto& [hold, found] : by_hold) best.push_back(found);
    by_hold.clear();
    std::sort(best.begin(), best.end(), before);
    if (count > 0 && best.size() > count) best.resize(count);
    return best;
  }

  static bool before(const LipFound& x, const LipFound& y) {
    return x.gap_mm != y.gap_mm ? x.gap_mm < y.gap_mm : x.hold < y.hold;
  }

  const std::size_t count;
  std::atomic<float> limit;  // Gaps beyond it don't matter.
  std::mutex mutex;
  std::vector<LipFound> best;
  std::unordered_map<std::uint32_t, LipFound> by_hold;
};

LipIndex::Range LipIndex::append(std::size_t hold, std::string_view packed) {
  const std::size_t runs = packed.empty() ? 0 : static_cast<unsigned char>(packed.front());
  if (!packed.empty() && packed.size() != 1 + runs * kPackedRun)
    throw BadInput("The lips of a hold are damaged: run holdshelf check --repair.");
  const auto begin = static_cast<std::uint32_t>(curves());
  hold_of_.insert(hold_of_.end(), runs, static_cast<std::uint32_t>(hold));
  if (runs > 0) codes_.append(packed.substr(1));
  return {begin, static_cast<std::uint32_t>(curves())};
}

void LipIndex::add(std::string_view packed) {
  const Range range = append(holds(), packed);
  ranges_.push_back(range);
  if (!nodes_.empty()) addBeside(holds() - 1, range);
}

void LipIndex::addBeside(std::size_t hold, const Range& range) {
  beside_tree_.insert(static_cast<std::uint32_t>(hold));
  curves_beside_ += range.end - range.begin;
  if (curves_beside_ > kMostBeside) build();
}

void LipIndex::replace(std::size_t hold, std::string_view packed) {
  const Range range = append(hold, packed);
  Range& had = ranges_.at(hold);
  std::fill(hold_of_.begin() + had.begin, hold_of_.begin() + had.end, kNobody);
  had = range;
  if (!nodes_.empty()) addBeside(hold, range);
}

std::size_t LipIndex::bytes() const {
  return codes_.size() + sizeof(Range) * ranges_.size() + 4 * hold_of_.size() +
         leaves_.size() * sizeof(Leaf) + nodes_.size() * sizeof(Node);
}

std::vector<LipRun> LipIndex::lipsOf(std::size_t hold) const {
  std::vector<LipRun> runs;
  for (std::uint32_t curve = ranges_.at(hold).begin; curve < ranges_.at(hold).end; ++curve)
    runs.push_back(unpackLip(packedCurve(curve)));
  return runs;
}

std::string_view LipIndex::packedOf(std::size_t hold) const {
  const auto [begin, end] = ranges_.at(hold);
  return std::string_view(codes_).substr(begin * kPackedRun, (end - begin) * kPackedRun);
}

void LipIndex::findComponents() {
  const std::uint32_t total = static_cast<std::uint32_t>(curves());
  const std::uint32_t stride = std::max(1U, total / kSample);
  Eigen::VectorXd sum = Eigen::VectorXd::Zero(kNumbers);
  Eigen::MatrixXd squares = Eigen::MatrixXd::Zero(kNumbers, kNumbers);
  double count = 0;
  for (std::uint32_t curve = 0; curve < total; curve += stride, ++count) {
    const Eigen::VectorXd v = centred(unpackLip(packedCurve(curve)).curve.at_mm).cast<double>();
    sum += v;
    squares.selfadjointView<Eigen::Lower>().rankUpdate(v);
  }
  const Eigen::VectorXd mean = sum / count;
  squares.selfadjointView<Eigen::Lower>().rankUpdate(mean, -count);
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> solver(squares);
  mean_ = mean.cast<float>();
  components_ = solver.eigenvectors().rightCols(kComponents).cast<float>();
}

void LipIndex::describe(std::uint32_t curve, Leaf& leaf) const {
  const VectorXf v = centred(unpackLip(packedCurve(curve)).curve.at_mm) - mean_;
  const VectorXf exact = components_.transpose() * v;
  float stored2 = 0, rounding2 = 0;
  for (std::size_t k = 0; k < kComponents; ++k) {
    const float value = exact[static_cast<Eigen::Index>(k)];
    leaf.at[k] =
        static_cast<std::int16_t>(std::clamp(std::round(value / kQuantum), -32767.0F, 32767.0F));
    stored2 += value * value;
    rounding2 += std::pow(value - kQuantum * leaf.at[k], 2.0F);
  }
  leaf.rest = std::sqrt(std::max(0.0F, v.squaredNorm() - stored2) + rounding2) + 1e-3F;
  leaf.curve = curve;
}

LipIndex::Node LipIndex::boxAround(std::uint32_t begin, std::uint32_t end) const {
  Node node{leaves_[begin].at, leaves_[begin].at, 0, begin, end, 0, 0};
  for (std::uint32_t i = begin; i < end; ++i) {
    for (std::size_t k = 0; k < kComponents; ++k) {
      node.least[k] = std::min(node.least[k], leaves_[i].at[k]);
      node.most[k] = std::max(node.most[k], leaves_[i].at[k]);
    }
    node.rest = std::max(node.rest, leaves_[i].rest);
  }
  return node;
}

/// Nodes are numbered so that a node's place follows from its range alone, which lets branches grow
/// side by side: the left one follows its parent, the right one comes after all of the left one's.
void LipIndex::grow(std::uint32_t number) {
  Node& node = nodes_[number];
  const std::uint32_t size = node.end - node.begin;
  if (size <= kLeaves) return;
  std::size_t widest = 0;
  const auto width = [&](std::size_t k) { return node.most[k] - node.least[k]; };
  for (std::size_t k = 1; k < kComponents; ++k)
    if (width(k) > width(widest)) widest = k;
  // Whole bunches of kLeaves to the left, so that the number of nodes below is known.
  const std::uint32_t bunches = (size + kLeaves - 1) / kLeaves, left_bunches = bunches / 2;
  const std::uint32_t middle = node.begin + left_bunches * kLeaves;
  std::nth_element(leaves_.begin() + node.begin, leaves_.begin() + middle,
                   leaves_.begin() + node.end,
                   [&](const Leaf& x, const Leaf& y) { return x.at[widest] < y.at[widest]; });
  node.left = number + 1;
  node.right = number + 2 * left_bunches;
  nodes_[node.left] = boxAround(node.begin, middle);
  nodes_[node.right] = boxAround(middle, node.end);
  tbb::parallel_invoke([&] { grow(node.left); }, [&] { grow(node.right); });
}

void LipIndex::build() {
  std::vector<std::uint32_t> lasting;
  for (std::uint32_t curve = 0; curve < curves(); ++curve)
    if (hold_of_[curve] != kNobody) lasting.push_back(curve);
  beside_tree_.clear();
  curves_beside_ = 0;
  nodes_.clear();
  leaves_.resize(lasting.size());
  if (lasting.empty()) return;
  findComponents();
  tbb::parallel_for(std::size_t{0}, lasting.size(),
                    [&](std::size_t i) { describe(lasting[i], leaves_[i]); });
  const std::size_t bunches = (lasting.size() + kLeaves - 1) / kLeaves;
  nodes_.resize(2 * bunches - 1);
  nodes_[0] = boxAround(0, static_cast<std::uint32_t>(lasting.size()));
  grow(0);
}

LipIndex::Aim LipIndex::aimOf(const LipPlacement& placement) const {
  const auto points = static_cast<Eigen::Index>(placement.at_mm.size());
  const VectorXf target =
      centred(placement.at_mm) - restricted(mean_, placement.first, points).col(0);
  const Eigen::HouseholderQR<Eigen::MatrixXf> qr(restricted(components_, placement.first, points));
  const VectorXf turned = qr.householderQ().adjoint() * target;
  Aim aim{};
  for (int row = 0; row < kComponents; ++row)
    for (int k = row; k < kComponents; ++k)
      aim.form[static_cast<std::size_t>(row)][static_cast<std::size_t>(k)] =
          kQuantum * qr.matrixQR()(row, k);
  for (int row = 0; row < kComponents; ++row)
    aim.target[static_cast<std::size_t>(row)] = turned[row];
  aim.beyond = turned.tail(turned.size() - kComponents).squaredNorm();
  aim.per_gap = std::sqrt(static_cast<float>(points));
  return aim;
}

void LipIndex::search(const Aim& aim, const LipPlacement& placement, std::size_t number,
                      const Accept& accept, Nearest& nearest) const {
  using Open = std::pair<float, std::uint32_t>;
  std::priority_queue<Open, std::vector<Open>, std::greater<>> open;
  open.emplace(aim.bound(nodes_[0]), 0);
  while (!open.empty() && open.top().first <= nearest.limit) {
    const Node& node = nodes_[open.top().second];
    open.pop();
    if (node.left != 0) {
      for (const std::uint32_t below : {node.left, node.right})
        if (const float bound = aim.bound(nodes_[below]); bound <= nearest.limit)
          open.emplace(bound, below);
      continue;
    }
    for (std::uint32_t i = node.begin; i < node.end; ++i) {
      if (hold_of_[leaves_[i].curve] == kNobody || aim.bound(leaves_[i]) > nearest.limit) continue;
      LipFound found{hold_of_[leaves_[i].curve], unpackLip(packedCurve(leaves_[i].curve)), number,
                     0};
      const std::span<const Eigen::Vector2f> beside(
          found.run.curve.at_mm.data() + static_cast<std::size_t>(placement.first),
          placement.at_mm.size());
      found.gap_mm = gapAfterShift(placement.at_mm, beside);
      if (found.gap_mm <= nearest.limit && (!accept || accept(found.hold, found.run)))
        nearest.offer(found);
    }
  }
}

std::vector<LipFound> LipIndex::nearest(const LipProbe& probe, std::size_t count, double within_mm,
                                        const Accept& accept) const {
  if (nodes_.empty() || (count == 0 && within_mm > 1e3))
    return nearestByTrying(probe, count, within_mm, accept);
  Nearest nearest(count, within_mm);
  const auto one = [&](std::size_t i) { search(aimOf(probe[i]), probe[i], i, accept, nearest); };
  const std::vector<std::uint32_t> beside(beside_tree_.begin(), beside_tree_.end());
  tbb::parallel_for(std::size_t{0}, beside.size(),
                    [&](std::size_t i) { tryHold(probe, beside[i], accept, nearest); });
  if (!probe.empty()) one(0);  // Usually the best: it sets a limit for the others.
  if (probe.size() > 1) tbb::parallel_for(std::size_t{1}, probe.size(), one);
  return nearest.sorted();
}

void LipIndex::tryHold(const LipProbe& probe, std::size_t hold, const Accept& accept,
                       Nearest& nearest) const {
  LipFound best{static_cast<std::uint32_t>(hold), {}, 0, 1e300};
  for (std::uint32_t curve = ranges_[hold].begin; curve < ranges_[hold].end; ++curve) {
    const LipRun run = unpackLip(packedCurve(curve));
    const auto [placement, gap_mm] = bestPlacement(probe, run.curve);
    if (gap_mm <= nearest.limit && gap_mm < best.gap_mm && (!accept || accept(best.hold, run)))
      best.run = run, best.placement = placement, best.gap_mm = gap_mm;
  }
  if (best.gap_mm < 1e300) nearest.offer(best);
}

std::vector<LipFound> LipIndex::nearestByTrying(const LipProbe& probe, std::size_t count,
                                                double within_mm, const Accept& accept) const {
  Nearest nearest(count, within_mm);
  tbb::parallel_for(std::size_t{0}, holds(),
                    [&](std::size_t hold) { tryHold(probe, hold, accept, nearest); });
  return nearest.sorted();
}

}  // namespace holdshelf
