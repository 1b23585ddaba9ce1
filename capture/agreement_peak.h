// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>
#include <vector>

namespace holdshelf {

// At which height photos of one plane agree best, when the plane is swept through a range of
// heights.

/// How well two photos agree on a plane, and over how much of it.
struct PairWord {
  int a = 0, b = 0;  ///< Photos.
  double area_mm2 = 0, correlation = 0;
};
using PairWords = std::vector<PairWord>;

/// The vertex of the parabola through a peak's upper part.
struct AgreementPeak {
  double height_mm = 0;
  double agreement = 0;  ///< Mean correlation there.
  double curvature = 0;  ///< How fast it falls to both sides, 1/mm2.

  /// Standard uncertainty of the height from the peak's own shape, where the agreement rests on so
  /// many independent patches. The parabola's vertex may lie above 1, where there is no doubt left;
  /// of a peak that is all but flat it is 50 mm, farther than any sweep.
  double sigma_mm(double patches) const;
};

/// The agreement of all pairs on one height: their correlations weighted by area, over the area and
/// 5 mm2 of doubt; 0 where they share less than 12 mm2.
double agreementScore(const PairWords& words);

/// The height with the best score, of heights `step_mm` apart. nullopt: none is above 0; or another
/// peak, 2.5 mm away or more, comes to 0.55 of it; or it is more than 5 mm broad at 0.6 of its
/// score, as the shade is that a rim throws and photos share at any height somewhat.
std::optional<double> outstandingHeight(const std::vector<double>& heights_mm,
                                        const std::vector<double>& scores, double step_mm);

/// The peak of the mean correlation (weighted by area) over the heights. All of its part within
/// 0.06 of the highest mean speaks, by least squares: noise shifts the single highest place of a
/// broad one.
/// @param words    One set a height.
/// @param without  A photo whose words are left out; -1: none.
/// @return  nullopt: the peak has not both sides within the heights.
std::optional<AgreementPeak> peakOf(const std::vector<double>& heights_mm,
                                    const std::vector<PairWords>& words, int without);

/// Standard uncertainty of the peak's height, mm, by leaving out each photo in turn; 0.5 where
/// fewer than two of these have a peak. Source: Efron B, "The jackknife, the bootstrap and other
/// resampling plans", SIAM 1982, ch. 3.
double jackknifeSigma_mm(const std::vector<int>& photos, const std::vector<double>& heights_mm,
                         const std::vector<PairWords>& words);

}  // namespace holdshelf
