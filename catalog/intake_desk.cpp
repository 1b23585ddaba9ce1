// SPDX-License-Identifier: Apache-2.0
#include "catalog/intake_desk.h"

#include <sys/random.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <optional>
#include <stdexcept>

#include "catalog/blob_store.h"
#include "catalog/clock.h"
#include "catalog/desk_child.h"
#include "catalog/finished_files.h"
#include "catalog/freed_memory.h"
#include "catalog/intake.h"
#include "catalog/intake_form.h"
#include "catalog/library.h"
#include "catalog/shown_text.h"
#include "mesh/bad_input.h"

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

constexpr std::uintmax_t kLeaveFree = 1ULL << 30;

std::string newId() {
  std::uint32_t number = 0;
  if (::getrandom(&number, sizeof number, 0) != sizeof number)
    throw std::runtime_error("the system gives no random numbers");
  char text[9];
  std::snprintf(text, sizeof text, "%08x", number);
  return text;
}

}  // namespace

IntakeDesk::IntakeDesk(fs::path library, fs::path program,
                       std::function<void(const IntakeMoved&)> told)
    : library_(std::move(library)),
      files_(library_),
      program_(std::move(program)),
      told_(std::move(told)) {
  if (files_.areOurs()) load();
  look_thread_ = std::thread([this] { lookLoop(); });
  rebuild_thread_ = std::thread([this] { rebuildLoop(); });
}

IntakeDesk::~IntakeDesk() {
  {
    const Lock lock(mutex_);
    closing_ = true;
    work_.notify_all();
  }
  // A child may be just about to start: its end is asked for until its thread is gone.
  std::atomic<bool> gone = false;
  std::thread ender([&] {
    while (!gone) {
      looker_.kill();
      rebuilder_.kill();
      std::this_thread::sleep_for(std::chrono::milliseconds(20));
    }
  });
  look_thread_.join();
  rebuild_thread_.join();
  gone = true;
  ender.join();
}

/// What the last run of the program left, with the photos as long as their files are.
void IntakeDesk::load() {
  std::vector<std::string> queue;
  for (Intake& intake : files_.readAll()) {
    for (const IntakePhoto& photo : intake.photos())
      if (photo.state() == IntakePhoto::LOOKING)
        to_look_at_.emplace_back(intake.id(), photo.sha256());
    if (isBusy(intake)) {
      intake.set_state(Intake::WAITING);
      queue.push_back(intake.created_at() + intake.id());
    }
    try {
      (void)finishStored(intake);
    } catch (const std::exception&) {  // The disk is full, say: it is when it is stored again.
    }
    const std::string id = intake.id();
    intakes_[id] = std::move(intake);
  }
  std::sort(queue.begin(), queue.end());
  for (const std::string& one : queue) to_rebuild_.push_back(one.substr(one.size() - 8));
}

void IntakeDesk::tell(const Intake& intake, const std::string& photo) const {
  IntakeMoved moved;
  moved.set_id(intake.id());
  moved.set_state(intake.state());
  moved.set_step(intake.step());
  moved.set_done(intake.done());
  moved.set_photo(photo);
  told_(moved);
}

Intake& IntakeDesk::find(const std::string& id) {
  const auto found = intakes_.find(id);
  if (found == intakes_.end())
    throw BadInput("There is no intake " + id.substr(0, 40) + ": it was thrown away, or stored.");
  return found->second;
}

IntakePhoto& IntakeDesk::findPhoto(Intake& intake, const std::string& sha256) {
  if (IntakePhoto* photo = photoNamed(intake, sha256)) return *photo;
  throw BadInput("There is no such photo in this intake: announce it first.");
}

Intake IntakeDesk::open(const Intake& wanted, const std::string& who) {
  Intake intake;
  setWishes(wanted, intake);
  intake.set_state(Intake::COLLECTING);
  intake.set_created_at(nowUtc());
  intake.set_who(who);
  const Lock lock(mutex_);
  if (!files_.areOurs())
    throw BadInput("Another server takes holds in for this library: use its page.");
  const auto open = std::count_if(intakes_.begin(), intakes_.end(), [](const auto& one) {
    return one.second.state() != Intake::STORED;
  });
  if (open >= kMostOpen)
    throw BadInput("There are " + std::to_string(open) +
                   " intakes open: finish or throw away one of them first.");
  do intake.set_id(newId());
  while (intakes_.contains(intake.id()));
  files_.create(intake);
  intakes_[intake.id()] = intake;
  tell(intake);
  return intake;
}

Intake IntakeDesk::change(const std::string& id, const Intake& wanted) {
  const Lock lock(mutex_);
  Intake& intake = find(id);
  needIdle(intake);
  const std::string mat = intake.mat().SerializeAsString();
  Intake changed = intake;
  setWishes(wanted, changed);
  if (changed.mat().SerializeAsString() != mat) {
    for (IntakePhoto& photo : *changed.mutable_photos())
      if (photo.state() != IntakePhoto::UPLOADING) photo.set_state(IntakePhoto::LOOKING);
  }
  files_.keep(changed);
  intake = changed;
  if (intake.mat().SerializeAsString() != mat) {
    for (const IntakePhoto& photo : intake.photos())
      if (photo.state() == IntakePhoto::LOOKING) to_look_at_.emplace_back(id, photo.sha256());
    work_.notify_all();
  }
  tell(intake);
  return intake;
}

Intake IntakeDesk::get(const std::string& id) {
  const Lock lock(mutex_);
  return find(id);
}

IntakeList IntakeDesk::list() {
  const Lock lock(mutex_);
  IntakeList list;
  for (const auto& [id, intake] : intakes_) {
    Intake& brief = *list.add_intakes() = intake;
    brief.clear_mat();
    brief.clear_photos();
    clearResult(brief);
    brief.set_sentence(intake.sentence());
  }
  std::sort(list.mutable_intakes()->begin(), list.mutable_intakes()->end(),
            [](const Intake& a, const Intake& b) { return a.created_at() > b.created_at(); });
  return list;
}

void IntakeDesk::forget(const std::string& id) {
  const Lock lock(mutex_);
  const Intake intake = find(id);
  if (isBusy(intake)) throw BadInput("It is being rebuilt: stop that first.");
  intakes_.erase(id);
  files_.remove(intake);
  tell(intake);
}

IntakePhoto IntakeDesk::announce(const std::string& id, const IntakePhoto& wanted) {
  if (!isSha256(wanted.sha256()))
    throw BadInput("A photo is announced with its SHA-256 in 64 hex digits.");
  if (wanted.size() <= 0 || wanted.size() > kMostPhotoBytes)
    throw BadInput("A photo has up to " + std::to_string(kMostPhotoBytes >> 20) + " MB.");
  const Lock lock(mutex_);
  Intake& intake = find(id);
  if (const IntakePhoto* here = photoNamed(intake, wanted.sha256())) return *here;
  needIdle(intake);
  if (intake.photos_size() >= kMostPhotos)
    throw BadInput("An intake takes " + std::to_string(kMostPhotos) + " photos.");
  if (files_.room() < kLeaveFree + static_cast<std::uintmax_t>(wanted.size()))
    throw BadInput("The gym's computer has less than 1 GB of room left: make room on it first.");
  IntakePhoto photo;
  photo.set_sha256(wanted.sha256());
  photo.set_name(shownStart(wanted.name(), 200));
  photo.set_size(wanted.size());
  photo.set_state(IntakePhoto::UPLOADING);
  *intake.add_photos() = photo;
  files_.keep(intake);
  tell(intake, photo.sha256());
  return photo;
}

IntakePhoto IntakeDesk::photo(const std::string& id, const std::string& sha256) {
  const Lock lock(mutex_);
  return findPhoto(find(id), sha256);
}

std::optional<IntakePhoto> IntakeDesk::receive(const std::string& id, const std::string& sha256,
                                               std::int64_t offset, std::string_view bytes) {
  const Lock lock(mutex_);
  Intake& intake = find(id);
  IntakePhoto& photo = findPhoto(intake, sha256);
  if (photo.state() != IntakePhoto::UPLOADING) return photo;  // Whole already.
  if (offset != photo.received()) return std::nullopt;
  if (photo.received() + static_cast<std::int64_t>(bytes.size()) > photo.size())
    throw BadInput("There are more bytes than were announced.");
  if (offset == 0 && photoType(bytes).empty()) {
    const std::string name = photo.name();
    erasePhoto(intake, sha256);
    files_.keep(intake);
    throw BadInput(name + " is neither JPEG nor PNG: set the phone to take JPEG.");
  }
  files_.addPiece(id, photo, offset, bytes);
  photo.set_received(photo.received() + static_cast<std::int64_t>(bytes.size()));
  if (photo.received() == photo.size()) completePhoto(intake, photo);
  return photo;
}

/// All its bytes are here: checked against its name, then given the next label.
void IntakeDesk::completePhoto(Intake& intake, IntakePhoto& photo) {
  const fs::path part = files_.photoFile(intake.id(), photo);
  const std::string bytes = readFile(part);
  if (sha256Hex(bytes) != photo.sha256()) {
    fs::remove(part);
    photo.set_received(0);
    throw BadInput(photo.name() + " arrived damaged: send it again.");
  }
  IntakePhoto whole = photo;
  whole.set_label(nextPhotoLabel(intake, photoType(bytes)));
  whole.set_state(IntakePhoto::LOOKING);
  writeFileDurably(files_.photoFile(intake.id(), whole), bytes);
  Intake changed = intake;
  findPhoto(changed, photo.sha256()) = whole;
  files_.keep(changed);
  photo = whole;
  fs::remove(part);
  to_look_at_.emplace_back(intake.id(), photo.sha256());
  work_.notify_all();
  tell(intake, photo.sha256());
}

void IntakeDesk::removePhoto(const std::string& id, const std::string& sha256) {
  const Lock lock(mutex_);
  Intake& intake = find(id);
  needIdle(intake);
  const IntakePhoto photo = findPhoto(intake, sha256);
  Intake changed = intake;
  erasePhoto(changed, sha256);
  refreshCoverage(changed);
  files_.keep(changed);
  intake = changed;
  fs::remove(files_.photoFile(id, photo));
  tell(intake, sha256);
}

std::string IntakeDesk::picture(const std::string& id, const std::string& sha256) {
  fs::path file;
  {
    const Lock lock(mutex_);
    const IntakePhoto& photo = findPhoto(find(id), sha256);
    file = files_.folderOf(id) / IntakeFiles::pictureName(photo);
  }
  return readFile(file);
}

Intake IntakeDesk::start(const std::string& id) {
  const Lock lock(mutex_);
  Intake& intake = find(id);
  if (finishStored(intake)) tell(intake);
  needIdle(intake);
  for (const IntakePhoto& photo : intake.photos())
    if (photo.state() == IntakePhoto::UPLOADING)
      throw BadInput("Photos are still on their way: wait for them, or remove them.");
  if (intake.photos().empty()) throw BadInput("There is no photo yet.");
  Intake changed = intake;
  clearResult(changed);
  changed.set_state(Intake::WAITING);
  changed.set_step("waiting for its turn");
  changed.set_done(0);
  files_.keep(changed);
  intake = changed;
  to_rebuild_.push_back(id);
  work_.notify_all();
  tell(intake);
  return intake;
}

Intake IntakeDesk::cancel(const std::string& id) {
  const Lock lock(mutex_);
  Intake& intake = find(id);
  if (!isBusy(intake)) return intake;
  std::erase(to_rebuild_, id);
  if (rebuilding_ == id) rebuilder_.kill();
  intake.set_state(Intake::COLLECTING);
  intake.clear_step();
  intake.set_done(0);
  files_.keep(intake);
  tell(intake);
  return intake;
}

std::string IntakeDesk::contactSheet(const std::string& id) {
  fs::path folder;
  {
    const Lock lock(mutex_);
    (void)find(id);
    folder = files_.folderOf(id);
  }
  if (!hasFinished(folder)) throw BadInput("It is not rebuilt yet.");
  return finishedSheet(folder);
}

Intake IntakeDesk::store(const std::string& id, const IntakeDecision& decision,
                         const std::string& who) {
  const IntakeChoice choice = choiceOf(decision);
  const Lock lock(mutex_);  // Held throughout: two clerks must not store it twice.
  Intake& intake = find(id);
  if (intake.state() == Intake::STORED) return intake;
  if (intake.state() != Intake::CHOOSING)
    throw BadInput("It is not rebuilt yet: start that first.");
  if (!finishStored(intake)) {
    ReadyScan ready = readFinished(files_.folderOf(id));
    for (const IntakePhoto& photo : intake.photos())
      if (photo.state() == IntakePhoto::LOOKED || photo.state() == IntakePhoto::LOOKING)
        ready.finished.photos.push_back(files_.photoFile(id, photo));
    Library library = Library::open(library_);
    // Known before the library changes: who is cut off in between finds what was stored.
    Intake begun = intake;
    begun.set_stored_from(library.lastEvent() + 1);
    files_.keep(begun);
    intake = begun;
    IntakeLabels labels = labelsOf(intake);
    labels.who = who;  // Who decides what the hold is, not who sent the photos.
    setStored(intake, storeScan(library, std::move(ready.finished), labels, choice));
  }
  returnFreedMemory();  // Whichever thread came with the request has read a whole scan.
  tell(intake);
  return intake;
}

/// Finishes what was cut off after the library had it. false: it has nothing of it.
bool IntakeDesk::finishStored(Intake& intake) const {
  if (intake.state() != Intake::CHOOSING || intake.stored_from() == 0) return false;
  const Library library = Library::open(library_);
  const std::string hold = storedSince(library, intake.stored_from(),
                                       readFinished(files_.folderOf(intake.id())).finished);
  if (hold.empty()) return false;
  setStored(intake, library.hold(hold));
  return true;
}

void IntakeDesk::setStored(Intake& intake, const Hold& hold) const {
  Intake stored = intake;
  stored.set_state(Intake::STORED);
  stored.set_stored_as(hold.id());
  stored.clear_step();
  files_.keep(stored);
  intake = stored;
  files_.dropStored(intake);
}

void IntakeDesk::lookLoop() {
  for (;;) {
    std::pair<std::string, std::string> next;
    {
      Lock lock(mutex_);
      work_.wait(lock, [&] { return closing_ || !to_look_at_.empty(); });
      if (closing_) return;
      next = to_look_at_.front();
      to_look_at_.pop_front();
    }
    try {
      lookAt(next.first, next.second);
    } catch (const std::exception&) {
      // No child could be started, say: the photo stays unlooked at until the next start.
    }
  }
}

/// The photo while it waits to be looked at; nullptr when it was looked at or thrown away since.
IntakePhoto* IntakeDesk::findToLookAt(const std::string& id, const std::string& sha256) {
  const auto found = intakes_.find(id);
  if (found == intakes_.end()) return nullptr;
  IntakePhoto* photo = photoNamed(found->second, sha256);
  return photo != nullptr && photo->state() == IntakePhoto::LOOKING ? photo : nullptr;
}

void IntakeDesk::lookAt(const std::string& id, const std::string& sha256) {
  std::string label, mat, picture;
  {
    const Lock lock(mutex_);
    const IntakePhoto* photo = findToLookAt(id, sha256);
    if (photo == nullptr) return;
    label = photo->label();
    picture = IntakeFiles::pictureName(*photo);
    mat = find(id).mat().SerializeAsString();
  }
  const LookEnd end = lookInChild(looker_, program_, files_.folderOf(id), label, picture);
  const Lock lock(mutex_);
  if (closing_ && end.status != 0) return;  // Looked at again at the next start.
  IntakePhoto* photo = findToLookAt(id, sha256);
  if (photo == nullptr || photo->label() != label) return;
  Intake& intake = find(id);
  if (intake.mat().SerializeAsString() != mat) return;  // It is in the queue once more.
  photo->set_state(IntakePhoto::LOOKED);
  *photo->mutable_look() = end.look;
  refreshCoverage(intake);
  try {
    files_.keep(intake);
  } catch (const std::exception&) {  // The disk is full, say: it is looked at again at a restart.
  }
  tell(intake, sha256);
}

void IntakeDesk::rebuildLoop() {
  for (;;) {
    std::string next;
    {
      Lock lock(mutex_);
      work_.wait(lock, [&] { return closing_ || !to_rebuild_.empty(); });
      if (closing_) return;
      next = to_rebuild_.front();
      to_rebuild_.pop_front();
      rebuilding_ = next;
    }
    try {
      if (beginRebuild(next)) rebuild(next);
    } catch (const std::exception& error) {
      finishRebuild(next, 0, error.what());
    }
  }
}

/// false: it was stopped or thrown away since.
bool IntakeDesk::beginRebuild(const std::string& id) {
  const Lock lock(mutex_);
  const auto found = intakes_.find(id);
  if (found == intakes_.end() || found->second.state() != Intake::WAITING) {
    rebuilding_.clear();
    return false;
  }
  Intake& intake = found->second;
  intake.set_state(Intake::RUNNING);
  intake.set_step("starting");
  removeFinished(files_.folderOf(id));
  files_.keep(intake);
  tell(intake);
  return true;
}

void IntakeDesk::rebuild(const std::string& id) {
  const auto moved = [&](double done, const std::string& step) {
    const Lock lock(mutex_);
    const auto found = intakes_.find(id);
    if (found == intakes_.end() || found->second.state() != Intake::RUNNING)
      return rebuilder_.kill();  // Stopped as it started.
    Intake& intake = found->second;
    intake.set_done(done);
    intake.set_step(step);
    tell(intake);
  };
  const RebuildEnd end = rebuildInChild(rebuilder_, program_, files_.folderOf(id), library_, moved);
  finishRebuild(id, end.status, end.failure);
}

void IntakeDesk::finishRebuild(const std::string& id, int status, const std::string& failure) {
  const Lock lock(mutex_);
  rebuilding_.clear();
  const auto found = intakes_.find(id);
  if (closing_ || found == intakes_.end() || found->second.state() != Intake::RUNNING) return;
  Intake& intake = found->second;
  intake.clear_step();
  try {
    if (!failure.empty()) throw BadInput(failure);
    if (status != 0)
      throw BadInput("The rebuild ended by itself (" + std::to_string(status) +
                     "): the gym's computer may be short of memory; try again, with fewer photos.");
    showResult(readFinished(files_.folderOf(id)), intake);
    intake.set_state(Intake::CHOOSING);
    intake.set_done(1);
  } catch (const std::exception& error) {
    intake.set_state(Intake::FAILED);
    intake.set_sentence(error.what());
  }
  try {
    files_.keep(intake);
  } catch (const std::exception&) {
    // The disk is full, say: there it is still being rebuilt, and is again at the next start.
  }
  returnFreedMemory();
  tell(intake);
}

}  // namespace holdshelf
