// SPDX-License-Identifier: Apache-2.0
#include "catalog/intake_photos.h"

#include <filesystem>

#include "catalog/blob_store.h"
#include "catalog/intake_form.h"
#include "catalog/shown_text.h"

namespace holdshelf {
namespace {

constexpr std::uintmax_t kLeaveFree = 1ULL << 30;

/// @throws NoRoom  So many bytes more would leave the computer too little.
void needRoom(const IntakeFiles& files, std::int64_t bytes) {
  if (files.room() < kLeaveFree + static_cast<std::uintmax_t>(bytes))
    throw NoRoom("The gym's computer has less than 1 GB of room left: make room on it first.");
}

/// All its bytes are here: checked against its name, then given the next label.
void completePhoto(const IntakeFiles& files, Intake& intake, IntakePhoto& photo) {
  const std::filesystem::path part = files.photoFile(intake.id(), photo);
  const std::string bytes = readFile(part);
  if (sha256Hex(bytes) != photo.sha256()) {
    std::filesystem::remove(part);
    photo.set_received(0);
    throw BadInput(photo.name() + " arrived damaged: send it again.");
  }
  IntakePhoto whole = photo;
  whole.set_label(nextPhotoLabel(intake, photoType(bytes)));
  whole.set_state(IntakePhoto::LOOKING);
  writeFileDurably(files.photoFile(intake.id(), whole), bytes);
  Intake changed = intake;
  *photoNamed(changed, photo.sha256()) = whole;
  files.keep(changed);
  photo = whole;
  std::filesystem::remove(part);
}

}  // namespace

IntakePhoto announcePhoto(const IntakeFiles& files, Intake& intake, const IntakePhoto& wanted) {
  if (!isSha256(wanted.sha256()))
    throw BadInput("A photo is announced with its SHA-256 in 64 hex digits.");
  if (wanted.size() <= 0 || wanted.size() > kMostPhotoBytes)
    throw BadInput("A photo has up to " + std::to_string(kMostPhotoBytes >> 20) + " MB.");
  if (const IntakePhoto* here = photoNamed(intake, wanted.sha256())) return *here;
  needIdle(intake);
  if (intake.photos_size() >= kMostPhotos)
    throw BadInput("An intake takes " + std::to_string(kMostPhotos) + " photos.");
  needRoom(files, wanted.size());
  Intake changed = intake;
  IntakePhoto& photo = *changed.add_photos();
  photo.set_sha256(wanted.sha256());
  photo.set_name(shownStart(wanted.name(), 200));
  photo.set_size(wanted.size());
  photo.set_state(IntakePhoto::UPLOADING);
  files.keep(changed);
  intake = changed;
  return *intake.photos().rbegin();
}

PieceEnd receivePiece(const IntakeFiles& files, Intake& intake, IntakePhoto& photo,
                      std::int64_t offset, std::string_view bytes) {
  if (photo.state() != IntakePhoto::UPLOADING) return PieceEnd::Known;
  needIdle(intake);
  if (offset != photo.received()) return PieceEnd::Elsewhere;
  const auto more = static_cast<std::int64_t>(bytes.size());
  if (more > photo.size() - photo.received())
    throw BadInput("There are more bytes than were announced.");
  if (offset == 0 && photoType(bytes).empty()) {
    const BadInput refusal(photo.name() + " is neither JPEG nor PNG: set the phone to take JPEG.");
    Intake changed = intake;
    erasePhoto(changed, photo.sha256());
    files.keep(changed);
    intake = changed;
    throw refusal;
  }
  const bool last = photo.received() + more == photo.size();
  // Many may have been announced while there was room for each. Of a whole photo a copy is made.
  needRoom(files, last ? more + photo.size() : more);
  files.addPiece(intake.id(), photo, offset, bytes);
  photo.set_received(photo.received() + more);
  if (!last) return PieceEnd::Taken;
  completePhoto(files, intake, photo);
  return PieceEnd::Whole;
}

void removePhoto(const IntakeFiles& files, Intake& intake, const IntakePhoto& photo) {
  needIdle(intake);
  Intake changed = intake;
  erasePhoto(changed, photo.sha256());
  refreshCoverage(changed);
  files.keep(changed);
  const std::filesystem::path file = files.photoFile(intake.id(), photo);
  intake = changed;
  std::filesystem::remove(file);
}

}  // namespace holdshelf
