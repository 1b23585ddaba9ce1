// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <string_view>

#include "catalog/intake.h"
#include "proto/intake.pb.h"

namespace holdshelf {

// What stands on the form of an intake (the message Intake): what a client may write on it, what
// may be done with it next, and what is shown of its photos and results. Nothing here touches a
// file.

/// Takes over what a client may say: labels, quality, mat; the rest of `wanted` is ignored.
/// @throws BadInput  A label is too long, or a count, quality, scale or mat cannot be.
void setWishes(const Intake& wanted, Intake& intake);

/// It waits for its rebuild, or is being rebuilt.
bool isBusy(const Intake& intake);
/// @throws BadInput  It is busy or in the library already: nothing of it can be changed.
void needIdle(const Intake& intake);
/// @throws BadInput  A photo has been announced and is not here yet.
void needWholePhotos(const Intake& intake);

/// 64 lower-case hex digits.
bool isSha256(const std::string& text);
/// ".jpg" or ".png" by a photo's first bytes (ISO/IEC 10918-1, B.1.1.3; ISO/IEC 15948, 5.2); empty:
/// neither.
std::string photoType(std::string_view bytes);
/// The file name of the next photo that is whole: "photo-07.jpg"; no number is given twice.
std::string nextPhotoLabel(const Intake& intake, const std::string& type);
/// nullptr: there is none of that name.
IntakePhoto* photoNamed(Intake& intake, const std::string& sha256);
/// Takes a photo off the form; it must stand there.
void erasePhoto(Intake& intake, const std::string& sha256);
/// What the photos that were looked at cover, anew.
void refreshCoverage(Intake& intake);

/// Which files came out, by which what is stored of them is known (storedSince).
void nameFiles(const FinishedScan& finished, Intake& intake);
/// The results as the page needs them; the sections and cameras stay on the disk.
void showResult(const ReadyScan& ready, Intake& intake);
/// Of a rebuild that counts no more nothing is shown.
void clearResult(Intake& intake);

/// What a person said that the hold is. @throws BadInput  Nothing was said.
IntakeChoice choiceOf(const IntakeDecision& decision);

}  // namespace holdshelf
