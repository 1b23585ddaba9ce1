// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>
#include <functional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "catalog/lip_components.h"
#include "catalog/lip_probe.h"
#include "catalog/nearest_lips.h"

namespace holdshelf {

/// All lips of a library, for finding those nearest to a wanted one.
///
/// Exact: finds what holding the probe against every stored curve finds. A tree of boxes over the
/// curves' principal components (lip_components.h) gives a lower bound of the gap to all curves in
/// a box, for any part of a wanted lip, and only curves that the bounds leave open are unpacked and
/// compared.
class LipIndex {
 public:
  /// Appends the lips of the next hold (packLips(); empty: it has none).
  void add(std::string_view packed);
  /// Makes the tree; to be called after the last hold and before nearest().
  void build();
  /// Gives a hold other lips, also after build(): those are tried one by one, until there are so
  /// many that the tree is made anew. Not while others search.
  void replace(std::size_t hold, std::string_view packed);

  std::size_t holds() const { return ranges_.size(); }
  std::size_t curves() const { return hold_of_.size(); }
  /// What the index keeps in memory.
  std::size_t bytes() const;
  bool hasLips(std::size_t hold) const { return ranges_[hold].end > ranges_[hold].begin; }
  /// The lips of one hold.
  std::vector<LipRun> lipsOf(std::size_t hold) const;
  /// The same as they were added, without the first byte.
  std::string_view packedOf(std::size_t hold) const;

  /// Whether a lip may count: by its hold, and by the run of rotations it has there.
  using Accept = std::function<bool(std::uint32_t hold, const LipRun& run)>;

  /// The holds with the smallest gaps, smallest first; of equals the first stored.
  /// @param count      At most so many; 0: all.
  /// @param within_mm  Only gaps up to this.
  std::vector<LipFound> nearest(const LipProbe& probe, std::size_t count, double within_mm = 1e9,
                                const Accept& accept = {}) const;

  /// The same answer from holding the probe against every curve: what nearest() is tested against,
  /// and what it does itself before build().
  std::vector<LipFound> nearestByTrying(const LipProbe& probe, std::size_t count,
                                        double within_mm = 1e9, const Accept& accept = {}) const;

 private:
  struct Leaf {  ///< One curve, in the tree's order.
    LipComponents::Point point;
    std::uint32_t curve;
  };
  struct Node {  ///< A box around the leaves [begin, end).
    LipComponents::Box box;
    std::uint32_t begin, end, left, right;  ///< left 0: no nodes below.
  };
  struct Range {  ///< Of a hold's curves.
    std::uint32_t begin, end;
  };

  const char* packedCurve(std::uint32_t curve) const { return &codes_[curve * kPackedRun]; }
  LipCurve curveOf(std::uint32_t curve) const { return unpackLip(packedCurve(curve)).curve; }
  Node boxAround(std::uint32_t begin, std::uint32_t end) const;
  void grow(std::uint32_t node);
  Range append(std::size_t hold, std::string_view packed);
  void addBeside(std::size_t hold, const Range& range);
  void tryHold(const LipProbe& probe, std::size_t hold, const Accept& accept,
               NearestLips& nearest) const;
  void search(const LipComponents::Aim& aim, const LipPlacement& placement, std::size_t number,
              const Accept& accept, NearestLips& nearest) const;

  std::string codes_;                   ///< kPackedRun bytes a curve, hold by hold.
  std::vector<Range> ranges_;           ///< By hold.
  std::vector<std::uint32_t> hold_of_;  ///< Of each curve; kNobody (.cpp) of those replaced.
  /// Holds whose lips are not in the tree, and how many those are.
  std::set<std::uint32_t> beside_tree_;
  std::size_t curves_beside_ = 0;
  LipComponents components_;
  std::vector<Leaf> leaves_;
  std::vector<Node> nodes_;
};

}  // namespace holdshelf
