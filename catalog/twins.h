// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>
#include <vector>

#include "catalog/library.h"
#include "mesh/progress.h"
#include "mesh/registration.h"
#include "mesh/signature.h"
#include "proto/twins.pb.h"

namespace holdshelf {

/// When two surfaces are one shape. Judgements, from what two scans of one piece differ by.
struct TwinThresholds {
  double twin_median_mm = 0.2, twin_p95_mm = 0.8;  ///< Both within, and
  double twin_patch_mm =
      0.29;  ///< 85 % of the patch means (Registered::patch_p85_mm), at the larger's size: a twin.
  double eye_median_mm = 0.6;  ///< Else within this: needs an eye.
  double same_size = 0.03;     ///< Sizes closer than this are one size.
  /// Signatures farther apart than this are not laid on each other.
  /// Worn and patched scans of one shape came out up to 7 100 apart, two thirds below 2 000.
  std::uint32_t signature_distance2 = 9000;
  int most_candidates = 20;  ///< A hold; the nearest by signature.
};

/// What two registered shapes are to each other; KIND_UNSPECIFIED: no twins. Deviations count at
/// the size of a hold of 80 mm, so that small holds are not all alike.
Twin judgeTwin(const Registered& registered, double size_mm, const TwinThresholds& thresholds = {});

/// Holds of the library, in the order of its keys, by signature. Nearest first, at most `count`,
/// none beyond the threshold. Finds them by walking all: see tests/bench/twins_bench.cpp.
class SignatureIndex {
 public:
  explicit SignatureIndex(const Library& library);
  struct Entry {
    std::string id;
    PackedSignature signature;
    double size_mm;
  };
  std::vector<std::size_t> nearest(const PackedSignature& signature, std::size_t count,
                                   std::uint32_t within) const;
  const std::vector<Entry>& entries() const { return entries_; }

 private:
  std::vector<Entry> entries_;
};

/// All pairs of twins among the library's holds: same shape, mirrored, or in another size.
/// Candidates come from the signatures; registration confirms. A hold whose mesh is lost or damaged
/// is left out and named.
TwinList findTwins(const Library& library, const TwinThresholds& thresholds,
                   const Progress& progress);

/// Twins in the library of one mesh that is not (yet) in it, best first; the same of lost ones.
TwinList twinsOfMesh(const Library& library, const TriangleMesh& mesh,
                     const TwinThresholds& thresholds, const Progress& progress);

/// "the same shape as H-0412 (0.08 mm)".
std::string twinText(const Twin& twin);

}  // namespace holdshelf
