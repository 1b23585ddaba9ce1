// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "capture/mat_photo.h"
#include "proto/capture_report.pb.h"

namespace holdshelf {

/// The photos of a capture and their reports, same order. Refused photos lose their pixels and keep
/// their report: verdict and a one-sentence reason.
struct PhotoSet {
  std::vector<MatPhoto> photos;
  std::vector<PhotoReport> reports;

  size_t size() const { return reports.size(); }
  bool used(size_t i) const { return reports[i].verdict() == PhotoReport::USED; }
  size_t countUsed() const;
  void refuse(size_t i, PhotoReport::Verdict verdict, const std::string& reason);
};

/// DUPLICATE: the same pixels as an earlier photo.
void refuseDuplicates(PhotoSet& set);

/// DISAGREES: another size than most. Photos of one sensor share one raster however the phone was
/// held: those with another EXIF orientation than most are turned and the mat found anew.
void keepOneSize(PhotoSet& set, const Mat& mat);

/// @throws BadInput  Not one of the mat's markers is found in any photo: another mat was meant.
void requireAnyMarker(const PhotoSet& set, const Mat& mat);

/// MAT_NOT_FOUND: fewer than four markers (or all, of a smaller mat).
void refuseWithoutMat(PhotoSet& set, const Mat& mat);

/// BLURRED: edges twice as wide as usual in this capture and over 4.5 px, or over 12 px;
/// OVEREXPOSED: over 60 % of the mat pure white. Sets the reports' sharpness. All judgement, no
/// source.
void refuseBlurredAndBurnt(PhotoSet& set);

/// @throws BadInput  Fewer used photos than needed: says what to reshoot, with the first reason.
void requireEnough(const PhotoSet& set, int needed);

/// One decimal, two decimals.
std::string rounded(double value);
std::string twoDecimals(double value);

}  // namespace holdshelf
