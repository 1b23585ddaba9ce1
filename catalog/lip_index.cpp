// SPDX-License-Identifier: Apache-2.0
#include "catalog/lip_index.h"

#include <tbb/parallel_for.h>
#include <tbb/parallel_invoke.h>

#include <algorithm>
#include <queue>

#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr std::uint32_t kLeaves = 32;        // In a node that is not divided further.
constexpr std::uint32_t kSample = 20'000;    // Curves that the components are found from.
constexpr std::uint32_t kNobody = ~0U;       // Whose curves were replaced.
constexpr std::size_t kMostBeside = 20'000;  // Curves that are tried one by one.

}  // namespace

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

LipIndex::Node LipIndex::boxAround(std::uint32_t begin, std::uint32_t end) const {
  Node node{{leaves_[begin].point.at, leaves_[begin].point.at, 0}, begin, end, 0, 0};
  LipComponents::Box& box = node.box;
  for (std::uint32_t i = begin; i < end; ++i) {
    for (std::size_t k = 0; k < LipComponents::kComponents; ++k) {
      box.least[k] = std::min(box.least[k], leaves_[i].point.at[k]);
      box.most[k] = std::max(box.most[k], leaves_[i].point.at[k]);
    }
    box.rest = std::max(box.rest, leaves_[i].point.rest);
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
  const auto width = [&](std::size_t k) { return node.box.most[k] - node.box.least[k]; };
  for (std::size_t k = 1; k < LipComponents::kComponents; ++k)
    if (width(k) > width(widest)) widest = k;
  // Whole bunches of kLeaves to the left, so that the number of nodes below is known.
  const std::uint32_t bunches = (size + kLeaves - 1) / kLeaves, left_bunches = bunches / 2;
  const std::uint32_t middle = node.begin + left_bunches * kLeaves;
  std::nth_element(
      leaves_.begin() + node.begin, leaves_.begin() + middle, leaves_.begin() + node.end,
      [&](const Leaf& x, const Leaf& y) { return x.point.at[widest] < y.point.at[widest]; });
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
  const std::uint32_t stride = std::max(1U, static_cast<std::uint32_t>(curves()) / kSample);
  const std::size_t sample = (curves() + stride - 1) / stride;
  components_ = LipComponents(
      sample, [&](std::size_t i) { return curveOf(static_cast<std::uint32_t>(i) * stride); });
  tbb::parallel_for(std::size_t{0}, lasting.size(), [&](std::size_t i) {
    leaves_[i] = {components_.describe(curveOf(lasting[i])), lasting[i]};
  });
  const std::size_t bunches = (lasting.size() + kLeaves - 1) / kLeaves;
  nodes_.resize(2 * bunches - 1);
  nodes_[0] = boxAround(0, static_cast<std::uint32_t>(lasting.size()));
  grow(0);
}

void LipIndex::search(const LipComponents::Aim& aim, const LipPlacement& placement,
                      std::size_t number, const Accept& accept, NearestLips& nearest) const {
  using Open = std::pair<float, std::uint32_t>;
  std::priority_queue<Open, std::vector<Open>, std::greater<>> open;
  open.emplace(aim.bound(nodes_[0].box), 0);
  while (!open.empty() && open.top().first <= nearest.limit_mm()) {
    const Node& node = nodes_[open.top().second];
    open.pop();
    if (node.left != 0) {
      for (const std::uint32_t below : {node.left, node.right})
        if (const float bound = aim.bound(nodes_[below].box); bound <= nearest.limit_mm())
          open.emplace(bound, below);
      continue;
    }
    for (std::uint32_t i = node.begin; i < node.end; ++i) {
      if (hold_of_[leaves_[i].curve] == kNobody || aim.bound(leaves_[i].point) > nearest.limit_mm())
        continue;
      LipFound found{hold_of_[leaves_[i].curve], unpackLip(packedCurve(leaves_[i].curve)), number,
                     0};
      const std::span<const Eigen::Vector2f> beside(
          found.run.curve.at_mm.data() + static_cast<std::size_t>(placement.first),
          placement.at_mm.size());
      found.gap_mm = gapAfterShift(placement.at_mm, beside);
      if (found.gap_mm <= nearest.limit_mm() && (!accept || accept(found.hold, found.run)))
        nearest.offer(found);
    }
  }
}

std::vector<LipFound> LipIndex::nearest(const LipProbe& probe, std::size_t count, double within_mm,
                                        const Accept& accept) const {
  if (nodes_.empty() || (count == 0 && within_mm > 1e3))
    return nearestByTrying(probe, count, within_mm, accept);
  NearestLips nearest(count, within_mm);
  const auto one = [&](std::size_t i) {
    search(components_.aimOf(probe[i]), probe[i], i, accept, nearest);
  };
  const std::vector<std::uint32_t> beside(beside_tree_.begin(), beside_tree_.end());
  tbb::parallel_for(std::size_t{0}, beside.size(),
                    [&](std::size_t i) { tryHold(probe, beside[i], accept, nearest); });
  if (!probe.empty()) one(0);  // Usually the best: it sets a limit for the others.
  if (probe.size() > 1) tbb::parallel_for(std::size_t{1}, probe.size(), one);
  return nearest.sorted();
}

void LipIndex::tryHold(const LipProbe& probe, std::size_t hold, const Accept& accept,
                       NearestLips& nearest) const {
  LipFound best{static_cast<std::uint32_t>(hold), {}, 0, 1e300};
  for (std::uint32_t curve = ranges_[hold].begin; curve < ranges_[hold].end; ++curve) {
    const LipRun run = unpackLip(packedCurve(curve));
    const auto [placement, gap_mm] = bestPlacement(probe, run.curve);
    if (gap_mm <= nearest.limit_mm() && gap_mm < best.gap_mm && (!accept || accept(best.hold, run)))
      best.run = run, best.placement = placement, best.gap_mm = gap_mm;
  }
  if (best.gap_mm < 1e300) nearest.offer(best);
}

std::vector<LipFound> LipIndex::nearestByTrying(const LipProbe& probe, std::size_t count,
                                                double within_mm, const Accept& accept) const {
  NearestLips nearest(count, within_mm);
  tbb::parallel_for(std::size_t{0}, holds(),
                    [&](std::size_t hold) { tryHold(probe, hold, accept, nearest); });
  return nearest.sorted();
}

}  // namespace holdshelf
