// SPDX-License-Identifier: Apache-2.0
#include "catalog/intake_files.h"

#include <fcntl.h>
#include <google/protobuf/util/json_util.h>
#include <sys/file.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <optional>
#include <stdexcept>
#include <system_error>

#include "catalog/blob_store.h"
#include "catalog/clock.h"
#include "catalog/console.h"
#include "catalog/finished_files.h"
#include "catalog/intake_form.h"
#include "catalog/library_place.h"
#include "mesh/bad_input.h"
#include "mesh/file_piece.h"
#include "mesh/unfinished.h"

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

constexpr std::chrono::hours kKeepStored{24};  // For who comes back to its page.
constexpr const char* kState = "intake.json";

bool isLongStored(const Intake& intake, const fs::path& state) {
  std::error_code error;
  const auto written = fs::last_write_time(state, error);
  return intake.state() == Intake::STORED && !error &&
         fs::file_time_type::clock::now() - written > kKeepStored;
}

std::vector<fs::path> photosIn(const fs::path& folder) {
  std::vector<fs::path> photos;
  for (const auto& entry : fs::directory_iterator(folder)) {
    const fs::path& file = entry.path();
    const bool picture = file.extension() == ".jpg" || file.extension() == ".png";
    if (picture && file.stem().string().starts_with("photo-")) photos.push_back(file);
  }
  std::sort(photos.begin(), photos.end());
  return photos;
}

/// What is left of one whose state is damaged: its photos. Somebody says anew what it is.
Intake leftOf(const fs::path& folder) {
  Intake usual, intake;
  usual.set_paper("A4");
  setWishes(usual, intake);
  intake.set_id(folder.filename().string());
  intake.set_state(Intake::FAILED);
  intake.set_created_at(nowUtc());
  for (const fs::path& file : photosIn(folder)) {
    const std::string bytes = readFile(file);
    const std::string sha256 = sha256Hex(bytes);
    if (photoNamed(intake, sha256) != nullptr) continue;
    IntakePhoto& photo = *intake.add_photos();
    photo.set_sha256(sha256);
    photo.set_name(file.filename().string());
    photo.set_label(file.filename().string());
    photo.set_size(static_cast<std::int64_t>(bytes.size()));
    photo.set_received(photo.size());
    photo.set_state(IntakePhoto::LOOKING);
  }
  intake.set_sentence(
      intake.photos().empty()
          ? "What was written down of this hold is damaged on the disk, and no photo of it is "
            "here: throw it away, and take the hold in again if the library has none."
          : "What was written down of this hold is damaged on the disk, its photos are here: fill "
            "in the form and choose the paper again, then rebuild it.");
  return intake;
}

/// Nothing where there is no state: made, and the program ended before that was written.
/// @throws BadInput  There is one that the disk does not give: left out, it would seem thrown away.
std::optional<Intake> intakeIn(const fs::path& folder) {
  if (isUnfinishedName(folder.filename())) return std::nullopt;  // Thrown away.
  const auto json = readFileIfThere(folder / kState);
  if (!json) return std::nullopt;
  Intake intake;
  try {
    fromJson(*json, "An intake", intake);
  } catch (const BadInput&) {
    return leftOf(folder);
  }
  if (intake.id() != folder.filename().string()) return std::nullopt;
  return intake;
}

/// Out of the way at once: cut off among its files, it is no intake that lacks some.
void removeFolder(const fs::path& folder, std::error_code& error) {
  const fs::path gone = nameBeside(folder);
  fs::rename(folder, gone, error);
  std::error_code swept_later;
  if (!error) fs::remove_all(gone, swept_later);
}

}  // namespace

IntakeFiles::IntakeFiles(const fs::path& library)
    : folder_(localFolderOf(library) / "serve" / "intake") {
  makeFolderDurably(folder_);
  lock_ =
      ::open((folder_.parent_path() / "intake.lock").c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600);
  if (lock_ < 0 || ::flock(lock_, LOCK_EX | LOCK_NB) == 0) return;
  ::close(lock_);
  lock_ = -1;
}

IntakeFiles::~IntakeFiles() {
  if (lock_ >= 0) ::close(lock_);
}

std::uintmax_t IntakeFiles::room() const { return fs::space(folder_).available; }

fs::path IntakeFiles::photoFile(const std::string& id, const IntakePhoto& photo) const {
  return folderOf(id) /
         (photo.state() == IntakePhoto::UPLOADING ? photo.sha256() + ".part" : photo.label());
}

std::vector<Intake> IntakeFiles::readAll() const {
  sweep();
  std::vector<Intake> found;
  const std::vector<fs::directory_entry> entries{fs::directory_iterator(folder_), {}};
  for (const auto& entry : entries) {
    auto kept = intakeIn(entry.path());
    if (!kept) continue;
    Intake& intake = *kept;
    if (isLongStored(intake, entry.path() / kState)) {
      std::error_code stays;
      removeFolder(entry.path(), stays);
      continue;
    }
    for (IntakePhoto& photo : *intake.mutable_photos()) {
      if (photo.state() != IntakePhoto::UPLOADING) continue;
      std::error_code none;
      const std::uintmax_t size = fs::file_size(photoFile(intake.id(), photo), none);
      photo.set_received(none ? 0 : static_cast<std::int64_t>(size));
    }
    found.push_back(std::move(intake));
  }
  return found;
}

/// Also folders of which the program ended before anything was in them.
void IntakeFiles::sweep() const {
  sweepUnfinished(folder_);
  const std::vector<fs::directory_entry> entries{fs::directory_iterator(folder_), {}};
  for (const auto& entry : entries) {
    const bool left_behind = isLeftBehind(entry.path());  // Before sweeping changes it.
    sweepUnfinished(entry.path());
    std::error_code stays;  // Whatever has something in it does.
    if (left_behind && entry.is_directory(stays)) fs::remove(entry.path(), stays);
  }
}

void IntakeFiles::keep(const Intake& intake) const {
  std::string json;
  if (!google::protobuf::util::MessageToJsonString(intake, &json).ok())
    throw std::logic_error("an intake has no JSON form");
  writeFileDurably(folderOf(intake.id()) / kState, json);
}

void IntakeFiles::create(const Intake& intake) const {
  makeFolderDurably(folderOf(intake.id()));
  keep(intake);
}

void IntakeFiles::remove(const Intake& intake) const {
  std::error_code error;
  removeFolder(folderOf(intake.id()), error);
  if (error && error != std::errc::no_such_file_or_directory)
    throw fs::filesystem_error("the intake stays", folderOf(intake.id()), error);
}

void IntakeFiles::addPiece(const std::string& id, const IntakePhoto& photo, std::int64_t offset,
                           std::string_view bytes) const {
  try {  // What a full disk took of a piece that is sent again goes first.
    putPiece(photoFile(id, photo), offset, bytes);
  } catch (const std::system_error& failure) {
    throw std::runtime_error("the photo cannot be written: " + failure.code().message());
  }
}

void IntakeFiles::dropStored(const Intake& intake) const {
  const fs::path folder = folderOf(intake.id());
  std::error_code stays;  // It goes with the folder.
  for (const IntakePhoto& photo : intake.photos()) {
    fs::remove(photoFile(intake.id(), photo), stays);
    fs::remove(folder / pictureName(photo), stays);
  }
  try {
    removeFinished(folder);
  } catch (const fs::filesystem_error&) {
  }
}

}  // namespace holdshelf
