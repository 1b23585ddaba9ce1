// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>
#include <string>
#include <string_view>

#include "catalog/intake_files.h"
#include "mesh/bad_input.h"
#include "proto/intake.pb.h"

namespace holdshelf {

// How the photos of an intake come in: told before they come by their SHA-256, then in pieces over
// any number of connections, and checked against that name when they are whole. Each step is on the
// disk before it stands in the intake. To be called with the intake's lock (open_intakes.h).

constexpr std::int64_t kMostPhotoBytes = 40 << 20;
constexpr int kMostPhotos = 150;

/// The disk has no room just now: nothing was taken, and the same may be sent again later.
class NoRoom : public BadInput {
  using BadInput::BadInput;
};

/// Writes on the form that a photo will come (sha256, name, size); one that is there already is
/// left as it is. @throws BadInput  It cannot be taken. @throws NoRoom
IntakePhoto announcePhoto(const IntakeFiles& files, Intake& intake, const IntakePhoto& wanted);

enum class PieceEnd {
  Known,      ///< The photo was whole before; nothing was done.
  Elsewhere,  ///< The piece does not begin where the photo ends so far; nothing was done.
  Taken,      ///< More is to come.
  Whole       ///< The photo is whole, has its label and waits to be looked at.
};
/// @throws BadInput  There are more bytes than were announced; it is no photo and was taken off the
/// form; it arrived damaged and is to be sent again from its beginning; or the intake takes no more
/// of it, as it is in the library already. @throws NoRoom
PieceEnd receivePiece(const IntakeFiles& files, Intake& intake, IntakePhoto& photo,
                      std::int64_t offset, std::string_view bytes);

/// Takes a photo off the form and deletes it.
void removePhoto(const IntakeFiles& files, Intake& intake, const IntakePhoto& photo);

}  // namespace holdshelf
