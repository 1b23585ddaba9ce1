// SPDX-License-Identifier: Apache-2.0
#include "catalog/intake_desk.h"

#include <sys/random.h>

#include <algorithm>
#include <stdexcept>
#include <utility>
#include <vector>

#include "catalog/blob_store.h"
#include "catalog/clock.h"
#include "catalog/finished_files.h"
#include "catalog/freed_memory.h"
#include "catalog/intake.h"
#include "catalog/intake_form.h"
#include "catalog/intake_photos.h"
#include "catalog/library.h"
#include "catalog/lost_file.h"
#include "mesh/bad_input.h"

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

using Lock = OpenIntakes::Lock;

std::string newId() {
  std::uint32_t number = 0;
  if (::getrandom(&number, sizeof number, 0) != sizeof number)
    throw std::runtime_error("the system gives no random numbers");
  char text[9];
  std::snprintf(text, sizeof text, "%08x", number);
  return text;
}

}  // namespace

IntakeDesk::IntakeDesk(fs::path library, const fs::path& program,
                       std::function<void(const IntakeMoved&)> told)
    : library_(std::move(library)),
      intakes_(library_, std::move(told)),
      looks_(intakes_, program),
      rebuilds_(intakes_, program, library_) {
  if (intakes_.files().areOurs()) load();
}

/// What the last run of the program left, with the photos as long as their files are.
void IntakeDesk::load() {
  const Lock lock = intakes_.lock();
  std::vector<std::pair<std::string, std::string>> queue;  // By age.
  for (Intake& read : intakes_.files().readAll()) {
    Intake& intake = intakes_.add(std::move(read));
    looks_.addWaiting(intake);
    if (isBusy(intake)) {
      intake.set_state(Intake::WAITING);
      queue.emplace_back(intake.created_at(), intake.id());
    }
    try {
      if (const std::string hold = storedBefore(intake); !hold.empty()) setStored(intake, hold);
    } catch (const std::exception&) {  // The disk is full, say: it is when it is stored again.
    }
  }
  std::sort(queue.begin(), queue.end());
  for (const auto& [age, id] : queue) rebuilds_.add(id);
}

Intake IntakeDesk::open(const Intake& wanted, const std::string& who) {
  Intake intake;
  setWishes(wanted, intake);
  intake.set_state(Intake::COLLECTING);
  intake.set_created_at(nowUtc());
  intake.set_who(who);
  const Lock lock = intakes_.lock();
  if (!intakes_.files().areOurs())
    throw BadInput("Another server takes holds in for this library: use its page.");
  if (const int open = intakes_.countOpen(); open >= kMostOpen)
    throw BadInput("There are " + std::to_string(open) +
                   " intakes open: finish or throw away one of them first.");
  do intake.set_id(newId());
  while (intakes_.look(intake.id()) != nullptr);
  intakes_.files().create(intake);
  intakes_.tell(intakes_.add(intake));
  return intake;
}

Intake IntakeDesk::change(const std::string& id, const Intake& wanted) {
  Lock lock = intakes_.lock();
  Intake& intake = intakes_.findToChange(lock, id);
  needIdle(intake);
  Intake changed = intake;
  setWishes(wanted, changed);
  const bool other_mat = changed.mat().SerializeAsString() != intake.mat().SerializeAsString();
  if (other_mat) {
    for (IntakePhoto& photo : *changed.mutable_photos())
      if (photo.state() != IntakePhoto::UPLOADING) photo.set_state(IntakePhoto::LOOKING);
  }
  intakes_.change(intake, changed);
  if (other_mat) looks_.addWaiting(intake);
  intakes_.tell(intake);
  return intake;
}

Intake IntakeDesk::get(const std::string& id) {
  const Lock lock = intakes_.lock();
  return intakes_.find(id);
}

IntakeList IntakeDesk::list() {
  const Lock lock = intakes_.lock();
  return intakes_.list();
}

void IntakeDesk::forget(const std::string& id) {
  Lock lock = intakes_.lock();
  const Intake intake = intakes_.findToChange(lock, id);
  if (isBusy(intake)) throw BadInput("It is being rebuilt: stop that first.");
  intakes_.remove(id);
  intakes_.tell(intake);
}

IntakePhoto IntakeDesk::announce(const std::string& id, const IntakePhoto& wanted) {
  Lock lock = intakes_.lock();
  Intake& intake = intakes_.findToChange(lock, id);
  const int before = intake.photos_size();
  IntakePhoto photo = announcePhoto(intakes_.files(), intake, wanted);
  if (intake.photos_size() > before) intakes_.tell(intake, photo.sha256());
  return photo;
}

IntakePhoto IntakeDesk::photo(const std::string& id, const std::string& sha256) {
  const Lock lock = intakes_.lock();
  return OpenIntakes::findPhoto(intakes_.find(id), sha256);
}

std::optional<IntakePhoto> IntakeDesk::receive(const std::string& id, const std::string& sha256,
                                               std::int64_t offset, std::string_view bytes) {
  Lock lock = intakes_.lock();
  Intake& intake = intakes_.findToChange(lock, id);
  IntakePhoto& photo = OpenIntakes::findPhoto(intake, sha256);
  const PieceEnd end = receivePiece(intakes_.files(), intake, photo, offset, bytes);
  if (end == PieceEnd::Elsewhere) return std::nullopt;
  if (end == PieceEnd::Whole) {
    looks_.add(id, sha256);
    intakes_.tell(intake, sha256);
  }
  return photo;
}

void IntakeDesk::removePhoto(const std::string& id, const std::string& sha256) {
  Lock lock = intakes_.lock();
  Intake& intake = intakes_.findToChange(lock, id);
  needIdle(intake);
  holdshelf::removePhoto(intakes_.files(), intake, OpenIntakes::findPhoto(intake, sha256));
  intakes_.tell(intake, sha256);
}

std::string IntakeDesk::picture(const std::string& id, const std::string& sha256) {
  fs::path file = intakes_.files().folderOf(id);
  {
    const Lock lock = intakes_.lock();
    file /= IntakeFiles::pictureName(OpenIntakes::findPhoto(intakes_.find(id), sha256));
  }
  return readFile(file);
}

Intake IntakeDesk::start(const std::string& id) {
  Lock lock = intakes_.lock();
  Intake& intake = intakes_.findToChange(lock, id);
  const std::string hold =
      intakes_.aside(lock, id, [&, copy = intake] { return storedBefore(copy); });
  if (!hold.empty()) {
    setStored(intake, hold);
    intakes_.tell(intake);
  }
  needIdle(intake);
  needWholePhotos(intake);
  if (intake.photos().empty()) throw BadInput("There is no photo yet.");
  Intake changed = intake;
  clearResult(changed);
  changed.set_state(Intake::WAITING);
  changed.set_step("waiting for its turn");
  changed.set_done(0);
  intakes_.change(intake, changed);
  rebuilds_.add(id);
  intakes_.tell(intake);
  return intake;
}

Intake IntakeDesk::cancel(const std::string& id) {
  Lock lock = intakes_.lock();
  Intake& intake = intakes_.findToChange(lock, id);
  if (!isBusy(intake)) return intake;
  Intake changed = intake;
  changed.set_state(Intake::COLLECTING);
  changed.clear_step();
  changed.set_done(0);
  intakes_.files().keep(changed);
  rebuilds_.stop(intake);
  intake = changed;
  intakes_.tell(intake);
  return intake;
}

std::string IntakeDesk::contactSheet(const std::string& id) {
  {
    const Lock lock = intakes_.lock();
    (void)intakes_.find(id);
  }
  const fs::path folder = intakes_.files().folderOf(id);
  if (!hasFinished(folder)) throw BadInput("It is not rebuilt yet.");
  return finishedSheet(folder);
}

Intake IntakeDesk::store(const std::string& id, const IntakeDecision& decision,
                         const std::string& who) {
  const IntakeChoice choice = choiceOf(decision);
  Lock lock = intakes_.lock();
  Intake& intake = intakes_.findToChange(lock, id);  // Of two clerks the second finds it stored.
  if (intake.state() == Intake::STORED) return intake;
  if (intake.state() != Intake::CHOOSING)
    throw BadInput("It is not rebuilt yet: start that first.");
  const auto aside = [&](const auto& work) { return intakes_.aside(lock, id, work); };
  std::string hold = aside([&, copy = intake] { return storedBefore(copy); });
  if (hold.empty()) {
    needWholePhotos(intake);
    // Known before the library changes: who is cut off in between finds what was stored.
    const std::int64_t from = aside([&] { return Library::open(library_).lastEvent() + 1; });
    Intake begun = intake;  // Copied now: photos may have been looked at aside.
    begun.set_stored_from(from);
    intakes_.change(intake, begun);
    hold = aside([&] {
      std::string stored = storeNow(begun, choice, who);
      returnFreedMemory();  // Whichever thread came with the request has read a whole scan.
      return stored;
    });
  }
  setStored(intake, hold);
  intakes_.tell(intake);
  return intake;
}

/// The hold that it became when storing it was cut off after the library had it; else empty.
std::string IntakeDesk::storedBefore(const Intake& intake) const {
  if (intake.state() != Intake::CHOOSING || intake.stored_from() == 0) return {};
  Intake named = intake;
  if (named.mesh_sha256().empty()) {  // Rebuilt by an older program: its files say.
    const auto ready =
        unlessLost([&] { return readFinished(intakes_.files().folderOf(intake.id())); });
    if (!ready) return {};  // Nothing can be stored of it but what is rebuilt anew.
    nameFiles(ready->finished, named);
  }
  return storedSince(Library::open(library_), intake.stored_from(), named.mesh_sha256(),
                     named.sheet_sha256());
}

/// @return  The hold that it has become.
std::string IntakeDesk::storeNow(const Intake& intake, const IntakeChoice& choice,
                                 const std::string& who) const {
  ReadyScan ready = readFinished(intakes_.files().folderOf(intake.id()));
  for (const IntakePhoto& photo : intake.photos())
    if (photo.state() == IntakePhoto::LOOKED || photo.state() == IntakePhoto::LOOKING)
      ready.finished.photos.push_back(intakes_.files().photoFile(intake.id(), photo));
  Library library = Library::open(library_);
  IntakeLabels labels = labelsOf(intake);
  labels.who = who;  // Who decides what the hold is, not who sent the photos.
  return storeScan(library, std::move(ready.finished), labels, choice).id();
}

void IntakeDesk::setStored(Intake& intake, const std::string& hold) {
  Intake stored = intake;
  stored.set_state(Intake::STORED);
  stored.set_stored_as(hold);
  stored.clear_step();
  intakes_.change(intake, stored);
  intakes_.files().dropStored(intake);
}

}  // namespace holdshelf
