// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <array>
#include <complex>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// Where a hold's surface lies around the axis of its centroid, as angular harmonics on rings of
/// distance and height. Turning the hold on the wall by phi multiplies harmonic m by e^{i m phi};
/// mirroring it conjugates all of them. So magnitudes tell shapes apart whatever the rotation,
/// hand or place, and phases give the rotation back.
///
/// Lengths are in units of the hold's own size, so that the same shape in another size has the same
/// signature; `size_mm` is that unit.
struct Signature {
  static constexpr std::size_t kRings = 6, kLevels = 5, kHarmonics = 8;
  static constexpr std::size_t kCells = kRings * kLevels;

  /// [cell][harmonic m = 0..7], share of the surface's area; sums to 1 over cells at m = 0.
  std::array<std::array<std::complex<float>, kHarmonics>, kCells> waves{};
  double size_mm = 0;                 ///< Cube root of the enclosed volume.
  std::array<double, 2> centre_mm{};  ///< Volume centroid on the wall, x and y.
};

/// Signature of a mesh in frame H. Walks every triangle; large ones are split first, so that how
/// the surface is cut into triangles does not show.
Signature signatureOf(const TriangleMesh& mesh);

/// Magnitudes of a signature, one byte each: what the search index keeps of a hold.
constexpr std::size_t kSignatureBytes = Signature::kCells * Signature::kHarmonics;
using PackedSignature = std::array<std::uint8_t, kSignatureBytes>;
PackedSignature packSignature(const Signature& signature);

/// Squared distance of packed signatures. 0 for equal shapes at any rotation, place, hand and size.
std::uint32_t signatureDistance2(const PackedSignature& a, const PackedSignature& b);

/// A rotation about z that brings b onto a, and how well it does.
struct TurnGuess {
  double rotation_deg = 0;  ///< Counter-clockwise, applied after the mirroring.
  bool mirrored = false;    ///< b is first mirrored in x.
  double score = 0;         ///< Cosine of the angle between the two turned signatures, at most 1.
};

/// The best few rotations, best first, direct and mirrored ones apart by at least 15 degrees.
std::vector<TurnGuess> guessTurns(const Signature& a, const Signature& b, std::size_t count);

}  // namespace holdshelf
