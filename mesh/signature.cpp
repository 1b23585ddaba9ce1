// SPDX-License-Identifier: Apache-2.0
#include "mesh/signature.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "mesh/surface_samples.h"

namespace holdshelf {
namespace {

using Eigen::Vector3d;
using Complex = std::complex<double>;

constexpr std::size_t kSamples = 12'000;
constexpr double kOuterRing = 1.5;  // In sizes; farther surface counts into the last ring.
constexpr double kTopLevel = 1.2;
constexpr int kTurns = 180;          // Rotations tried, before refinement.
constexpr double kByteScale = 2000;  // Magnitudes rarely pass 0.1 of the area.

struct Mass {
  double volume_mm3 = 0;
  Vector3d centroid_mm = Vector3d::Zero();
};

Mass massOf(const TriangleMesh& mesh) {
  Mass mass;
  for (const auto& t : mesh.triangles) {
    const Vector3d& a = mesh.vertices_mm[static_cast<std::size_t>(t[0])];
    const Vector3d& b = mesh.vertices_mm[static_cast<std::size_t>(t[1])];
    const Vector3d& c = mesh.vertices_mm[static_cast<std::size_t>(t[2])];
    const double v = a.dot(b.cross(c)) / 6;
    mass.volume_mm3 += v;
    mass.centroid_mm += v * (a + b + c) / 4;
  }
  if (mass.volume_mm3 > 0) mass.centroid_mm /= mass.volume_mm3;
  return mass;
}

/// Where a value falls among bins, shared linearly between the two nearest, so that noise moves
/// little from bin to bin.
struct Share {
  std::size_t bin;
  double upper;  ///< Of the next bin.
};

Share shareOf(double value, double full, std::size_t bins) {
  const double at = std::clamp(value / full * static_cast<double>(bins) - 0.5, 0.0,
                               static_cast<double>(bins) - 1);
  const auto bin = std::min(static_cast<std::size_t>(at), bins - 2);
  return {bin, at - static_cast<double>(bin)};
}

/// sum over cells of a_m conj(b_m), by harmonic: the turned product is its Fourier series.
std::array<Complex, Signature::kHarmonics> crossSpectrum(const Signature& a, const Signature& b,
                                                         bool mirrored) {
  std::array<Complex, Signature::kHarmonics> spectrum{};
  for (std::size_t cell = 0; cell < Signature::kCells; ++cell)
    for (std::size_t m = 0; m < Signature::kHarmonics; ++m) {
      const Complex x(a.waves[cell][m]), y(b.waves[cell][m]);
      // Mirroring in x sends angle t to pi - t: harmonic m to its conjugate times (-1)^m.
      const Complex turned = mirrored ? (m % 2 == 0 ? 1.0 : -1.0) * std::conj(y) : y;
      spectrum[m] += x * std::conj(turned);
    }
  return spectrum;
}

double energyOf(const Signature& s) {
  double energy = 0;
  for (const auto& cell : s.waves)
    for (std::size_t m = 0; m < cell.size(); ++m) energy += (m == 0 ? 1 : 2) * std::norm(cell[m]);
  return energy;
}

/// Correlation at a turn. Harmonics are of e^{+i m angle}, so turning b by phi multiplies by
/// e^{i m phi} and the product by its conjugate.
double correlation(const std::array<Complex, Signature::kHarmonics>& spectrum, double phi) {
  double sum = spectrum[0].real();
  const Complex turn = std::polar(1.0, -phi);
  Complex wave = turn;
  for (std::size_t m = 1; m < spectrum.size(); ++m, wave *= turn)
    sum += 2 * (spectrum[m] * wave).real();
  return sum;
}

void addPeaks(const Signature& a, const Signature& b, bool mirrored,
              std::vector<TurnGuess>& guesses) {
  const auto spectrum = crossSpectrum(a, b, mirrored);
  const double scale = std::sqrt(energyOf(a) * energyOf(b));
  std::array<double, kTurns> values{};
  constexpr double kStep = 2 * std::numbers::pi / kTurns;
  for (int i = 0; i < kTurns; ++i)
    values.at(static_cast<std::size_t>(i)) = correlation(spectrum, i * kStep);
  for (int i = 0; i < kTurns; ++i) {
    const double left = values.at(static_cast<std::size_t>((i + kTurns - 1) % kTurns));
    const double here = values.at(static_cast<std::size_t>(i));
    const double right = values.at(static_cast<std::size_t>((i + 1) % kTurns));
    if (here < left || here <= right) continue;
    const double bend = left - 2 * here + right;
    const double shift = bend < 0 ? 0.5 * (left - right) / bend : 0;
    guesses.push_back({(i + shift) * 360.0 / kTurns, mirrored, here / scale});
  }
}

}  // namespace

Signature signatureOf(const TriangleMesh& mesh) {
  Signature signature;
  const Mass mass = massOf(mesh);
  const SurfaceSamples samples = sampleSurface(mesh, kSamples, 0.5);
  if (!(mass.volume_mm3 > 0) || samples.points_mm.empty()) return signature;
  signature.size_mm = std::cbrt(mass.volume_mm3);
  signature.centre_mm = {mass.centroid_mm.x(), mass.centroid_mm.y()};
  const double weight = 1.0 / static_cast<double>(samples.points_mm.size());
  for (const Vector3d& p : samples.points_mm) {
    const double x = (p.x() - signature.centre_mm[0]) / signature.size_mm;
    const double y = (p.y() - signature.centre_mm[1]) / signature.size_mm;
    const Share ring = shareOf(std::hypot(x, y), kOuterRing, Signature::kRings);
    const Share level = shareOf(p.z() / signature.size_mm, kTopLevel, Signature::kLevels);
    const Complex turn = std::hypot(x, y) > 0 ? Complex(x, y) / std::hypot(x, y) : Complex(1);
    Complex wave = weight;
    for (std::size_t m = 0; m < Signature::kHarmonics; ++m, wave *= turn)
      for (const std::size_t r : {0U, 1U})
        for (const std::size_t l : {0U, 1U}) {
          const double share =
              (r == 1 ? ring.upper : 1 - ring.upper) * (l == 1 ? level.upper : 1 - level.upper);
          signature.waves[(ring.bin + r) * Signature::kLevels + level.bin + l][m] +=
              std::complex<float>(share * wave);
        }
  }
  return signature;
}

PackedSignature packSignature(const Signature& signature) {
  PackedSignature packed{};
  for (std::size_t cell = 0; cell < Signature::kCells; ++cell)
    for (std::size_t m = 0; m < Signature::kHarmonics; ++m)
      packed[cell * Signature::kHarmonics + m] = static_cast<std::uint8_t>(
          std::min(255.0, std::round(kByteScale * std::abs(signature.waves[cell][m]))));
  return packed;
}

std::uint32_t signatureDistance2(const PackedSignature& a, const PackedSignature& b) {
  std::uint32_t sum = 0;
  for (std::size_t i = 0; i < kSignatureBytes; ++i) {
    const std::int32_t difference =
        static_cast<std::int32_t>(a[i]) - static_cast<std::int32_t>(b[i]);
    sum += static_cast<std::uint32_t>(difference * difference);
  }
  return sum;
}

std::vector<TurnGuess> guessTurns(const Signature& a, const Signature& b, std::size_t count) {
  std::vector<TurnGuess> guesses;
  addPeaks(a, b, false, guesses);
  addPeaks(a, b, true, guesses);
  std::sort(guesses.begin(), guesses.end(),
            [](const TurnGuess& x, const TurnGuess& y) { return x.score > y.score; });
  std::vector<TurnGuess> kept;
  for (const TurnGuess& guess : guesses) {
    const bool near = std::any_of(kept.begin(), kept.end(), [&](const TurnGuess& k) {
      const double apart = std::abs(std::remainder(k.rotation_deg - guess.rotation_deg, 360.0));
      return k.mirrored == guess.mirrored && apart < 15;
    });
    if (!near && kept.size() < count) kept.push_back(guess);
  }
  return kept;
}

}  // namespace holdshelf
