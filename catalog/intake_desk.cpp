// SPDX-License-Identifier: Apache-2.0
#include "catalog/intake_desk.h"

#include <fcntl.h>
#include <google/protobuf/util/json_util.h>
#include <sys/file.h>
#include <sys/random.h>
#include <unistd.h>

#include <algorithm>
#include <cctype>
#include <charconv>
#include <chrono>
#include <fstream>
#include <optional>

#include "capture/mat_file.h"
#include "capture/printed_mat.h"
#include "catalog/blob_store.h"
#include "catalog/clock.h"
#include "catalog/console.h"
#include "catalog/finished_files.h"
#include "catalog/freed_memory.h"
#include "catalog/intake.h"
#include "catalog/intake_coverage.h"
#include "catalog/library.h"
#include "catalog/library_place.h"
#include "catalog/shown_text.h"
#include "mesh/bad_input.h"

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

constexpr std::uintmax_t kLeaveFree = 1ULL << 30;
constexpr std::chrono::hours kKeepStored{24};  // For who comes back to its page.
constexpr const char* kState = "intake.json";

std::string newId() {
  std::uint32_t number = 0;
  if (::getrandom(&number, sizeof number, 0) != sizeof number)
    throw std::runtime_error("the system gives no random numbers");
  char text[9];
  std::snprintf(text, sizeof text, "%08x", number);
  return text;
}

bool isSha256(const std::string& text) {
  return text.size() == 64 && std::all_of(text.begin(), text.end(), [](unsigned char c) {
           return std::isdigit(c) || (c >= 'a' && c <= 'f');
         });
}

bool isBusy(const Intake& intake) {
  return intake.state() == Intake::WAITING || intake.state() == Intake::RUNNING;
}

void needIdle(const Intake& intake) {
  if (isBusy(intake)) throw BadInput("It is being rebuilt: stop that first, or wait for it.");
  if (intake.state() == Intake::STORED)
    throw BadInput("It is in the library already as " + intake.stored_as() + ".");
}

/// Takes over what a client may say; the rest of `wanted` is ignored.
void setWishes(const Intake& wanted, Intake& intake) {
  intake.set_hold_id(shownLine(wanted.hold_id(), 40, "id"));
  intake.set_name(shownLine(wanted.name(), 200, "name"));
  intake.set_bin(shownLine(wanted.bin(), 100, "bin"));
  intake.set_set(shownLine(wanted.set(), 200, "set"));
  intake.set_maker(shownLine(wanted.maker(), 200, "maker"));
  intake.set_texture(shownLine(wanted.texture(), 200, "texture"));
  if (wanted.count() < 0 || wanted.count() > 100'000)
    throw BadInput("The number of pieces goes from 1 to 100000.");
  intake.set_count(std::max(1, wanted.count()));
  const std::string quality = wanted.quality().empty() ? "normal" : wanted.quality();
  if (quality != "draft" && quality != "normal" && quality != "fine")
    throw BadInput("\"" + quality.substr(0, 40) + "\" is no quality: use draft, normal or fine.");
  intake.set_quality(quality);
  const double scale = wanted.mat_scale();  // 0: nobody measured the ruler.
  if (scale != 0 && !(scale >= 0.8 && scale <= 1.25))
    throw BadInput("The mat's scale is off by more than a quarter: measure its ruler again.");
  intake.set_mat_scale(scale);
  intake.set_paper(wanted.paper());
  *intake.mutable_mat() = wanted.paper().empty() ? wanted.mat() : makeMat(wanted.paper()).mat;
  checkMat(intake.mat(), "The mat");
}

/// JPEG (ISO/IEC 10918-1, B.1.1.3) or PNG (ISO/IEC 15948, 5.2) by their first bytes.
std::string typeOf(std::string_view bytes) {
  if (bytes.starts_with("\xff\xd8\xff")) return ".jpg";
  if (bytes.starts_with("\x89PNG\r\n\x1a\n")) return ".png";
  return "";
}

void refreshCoverage(Intake& intake) {
  std::vector<PhotoLook> looks;
  for (const IntakePhoto& photo : intake.photos())
    if (photo.state() == IntakePhoto::LOOKED) looks.push_back(photo.look());
  *intake.mutable_coverage() = coverageOf(looks);
}

void erasePhoto(Intake& intake, const std::string& sha256) {
  auto& photos = *intake.mutable_photos();
  photos.erase(std::find_if(photos.begin(), photos.end(),
                            [&](const IntakePhoto& one) { return one.sha256() == sha256; }));
}

IntakeChoice choiceOf(const IntakeDecision& decision) {
  IntakeChoice choice;
  choice.of = decision.of();
  switch (decision.kind()) {
    case IntakeDecision::NEW:
      return {};
    case IntakeDecision::NEW_SCAN:
      choice.kind = IntakeChoice::Kind::NewScan;
      return choice;
    case IntakeDecision::ONE_MORE:
      choice.kind = IntakeChoice::Kind::OneMore;
      return choice;
    default:
      throw BadInput("Say what it is: NEW, NEW_SCAN or ONE_MORE.");
  }
}

/// The results as the page needs them; the sections and cameras stay on the disk.
void showResult(const ReadyScan& ready, Intake& intake) {
  *intake.mutable_report() = ready.finished.scan.report();
  intake.mutable_report()->clear_cameras();
  Scan& scan = *intake.mutable_scan() = ready.finished.scan;
  scan.clear_report();
  scan.clear_signature();
  scan.mutable_shape()->clear_sections();
  scan.clear_grip_map();
  intake.mutable_words()->Assign(ready.finished.words.begin(), ready.finished.words.end());
  *intake.mutable_again() = ready.again;
}

/// The hold that this scan made, or came to, since storing it began; empty: it was cut off before.
/// An event of it is known by what it names: the mesh or, of one more of a lot, the contact sheet.
std::string storedSince(const Library& library, std::int64_t number, const FinishedScan& finished) {
  const std::string mesh = sha256Hex(finished.mesh_ply);
  const std::string sheet = sha256Hex(finished.contact_sheet_png);
  std::string hold;
  Event event;
  library.store().forEachEvent(
      [&](const EventRow& row) {
        if (hold.empty() &&
            event.ParseFromArray(row.body.data(), static_cast<int>(row.body.size())) &&
            (event.scanned().mesh_blob() == mesh || event.photographed() == sheet))
          hold = event.hold();
      },
      number - 1);
  return hold;
}

bool isLongStored(const Intake& intake, const fs::path& state) {
  std::error_code error;
  const auto written = fs::last_write_time(state, error);
  return intake.state() == Intake::STORED && !error &&
         fs::file_time_type::clock::now() - written > kKeepStored;
}

void clearResult(Intake& intake) {
  intake.clear_report();
  intake.clear_scan();
  intake.clear_words();
  intake.clear_again();
  intake.clear_sentence();
  intake.clear_stored_from();
}

}  // namespace

IntakeDesk::IntakeDesk(fs::path library, fs::path program,
                       std::function<void(const IntakeMoved&)> told)
    : library_(std::move(library)),
      folder_(localFolderOf(library_) / "serve" / "intake"),
      program_(std::move(program)),
      told_(std::move(told)) {
  fs::create_directories(folder_);
  takeLock();
  if (lock_ >= 0) load();
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
  if (lock_ >= 0) ::close(lock_);
}

void IntakeDesk::takeLock() {
  lock_ = ::open((localFolderOf(library_) / "serve" / "intake.lock").c_str(),
                 O_RDWR | O_CREAT | O_CLOEXEC, 0600);
  if (lock_ < 0 || ::flock(lock_, LOCK_EX | LOCK_NB) == 0) return;
  ::close(lock_);
  lock_ = -1;
}

/// What the last run of the program left, with the photos as long as their files are.
void IntakeDesk::load() {
  std::vector<std::string> queue;
  const std::vector<fs::directory_entry> entries{fs::directory_iterator(folder_), {}};
  for (const auto& entry : entries) {
    Intake intake;
    try {
      fromJson(readFile(entry.path() / kState), "An intake", intake);
    } catch (const BadInput&) {
      continue;  // Made, and the program ended before its state was written.
    }
    if (intake.id() != entry.path().filename().string()) continue;
    if (isLongStored(intake, entry.path() / kState)) {
      std::error_code stays;
      fs::remove_all(entry.path(), stays);
      continue;
    }
    for (IntakePhoto& photo : *intake.mutable_photos()) {
      if (photo.state() == IntakePhoto::LOOKING)
        to_look_at_.emplace_back(intake.id(), photo.sha256());
      if (photo.state() != IntakePhoto::UPLOADING) continue;
      std::error_code none;
      const std::uintmax_t size = fs::file_size(photoFile(intake.id(), photo), none);
      photo.set_received(none ? 0 : static_cast<std::int64_t>(size));
    }
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

void IntakeDesk::keep(const Intake& intake) const {
  std::string json;
  if (!google::protobuf::util::MessageToJsonString(intake, &json).ok())
    throw std::logic_error("an intake has no JSON form");
  writeFileDurably(folderOf(intake.id()) / kState, json);
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
  for (IntakePhoto& photo : *intake.mutable_photos())
    if (photo.sha256() == sha256) return photo;
  throw BadInput("There is no such photo in this intake: announce it first.");
}

fs::path IntakeDesk::photoFile(const std::string& id, const IntakePhoto& photo) const {
  return folderOf(id) /
         (photo.state() == IntakePhoto::UPLOADING ? photo.sha256() + ".part" : photo.label());
}

Intake IntakeDesk::open(const Intake& wanted, const std::string& who) {
  Intake intake;
  setWishes(wanted, intake);
  intake.set_state(Intake::COLLECTING);
  intake.set_created_at(nowUtc());
  intake.set_who(who);
  const Lock lock(mutex_);
  if (lock_ < 0) throw BadInput("Another server takes holds in for this library: use its page.");
  const auto open = std::count_if(intakes_.begin(), intakes_.end(), [](const auto& one) {
    return one.second.state() != Intake::STORED;
  });
  if (open >= kMostOpen)
    throw BadInput("There are " + std::to_string(open) +
                   " intakes open: finish or throw away one of them first.");
  do intake.set_id(newId());
  while (intakes_.contains(intake.id()));
  fs::create_directory(folderOf(intake.id()));
  keep(intake);
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
  keep(changed);
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
  fs::remove_all(folderOf(id));
  tell(intake);
}

IntakePhoto IntakeDesk::announce(const std::string& id, const IntakePhoto& wanted) {
  if (!isSha256(wanted.sha256()))
    throw BadInput("A photo is announced with its SHA-256 in 64 hex digits.");
  if (wanted.size() <= 0 || wanted.size() > kMostPhotoBytes)
    throw BadInput("A photo has up to " + std::to_string(kMostPhotoBytes >> 20) + " MB.");
  const Lock lock(mutex_);
  Intake& intake = find(id);
  for (const IntakePhoto& photo : intake.photos())
    if (photo.sha256() == wanted.sha256()) return photo;
  needIdle(intake);
  if (intake.photos_size() >= kMostPhotos)
    throw BadInput("An intake takes " + std::to_string(kMostPhotos) + " photos.");
  if (fs::space(folder_).available < kLeaveFree + static_cast<std::uintmax_t>(wanted.size()))
    throw BadInput("The gym's computer has less than 1 GB of room left: make room on it first.");
  IntakePhoto photo;
  photo.set_sha256(wanted.sha256());
  photo.set_name(shownStart(wanted.name(), 200));
  photo.set_size(wanted.size());
  photo.set_state(IntakePhoto::UPLOADING);
  *intake.add_photos() = photo;
  keep(intake);
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
  if (offset == 0 && typeOf(bytes).empty()) {
    const std::string name = photo.name();
    erasePhoto(intake, sha256);
    keep(intake);
    throw BadInput(name + " is neither JPEG nor PNG: set the phone to take JPEG.");
  }
  std::error_code none;  // What a full disk took of a piece that is sent again goes first.
  fs::resize_file(photoFile(id, photo), static_cast<std::uintmax_t>(offset), none);
  std::ofstream file(photoFile(id, photo), std::ios::binary | std::ios::app);
  file.write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
  file.flush();
  if (!file) throw std::runtime_error("the photo cannot be written");
  photo.set_received(photo.received() + static_cast<std::int64_t>(bytes.size()));
  if (photo.received() == photo.size()) completePhoto(intake, photo);
  return photo;
}

/// All its bytes are here: checked against its name, then given the next label.
void IntakeDesk::completePhoto(Intake& intake, IntakePhoto& photo) {
  const fs::path part = photoFile(intake.id(), photo);
  const std::string bytes = readFile(part);
  if (sha256Hex(bytes) != photo.sha256()) {
    fs::remove(part);
    photo.set_received(0);
    throw BadInput(photo.name() + " arrived damaged: send it again.");
  }
  int number = 0;
  for (const IntakePhoto& one : intake.photos()) {
    int its = 0;
    if (one.label().size() > 8)
      std::from_chars(one.label().data() + 6, one.label().data() + one.label().size(), its);
    number = std::max(number, its);
  }
  char label[32];
  std::snprintf(label, sizeof label, "photo-%02d%s", number + 1, typeOf(bytes).c_str());
  IntakePhoto whole = photo;
  whole.set_label(label);
  whole.set_state(IntakePhoto::LOOKING);
  writeFileDurably(photoFile(intake.id(), whole), bytes);
  Intake changed = intake;
  findPhoto(changed, photo.sha256()) = whole;
  keep(changed);
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
  keep(changed);
  intake = changed;
  fs::remove(photoFile(id, photo));
  tell(intake, sha256);
}

std::string IntakeDesk::picture(const std::string& id, const std::string& sha256) {
  fs::path file;
  {
    const Lock lock(mutex_);
    const IntakePhoto& photo = findPhoto(find(id), sha256);
    file = folderOf(id) / (photo.sha256() + ".small");
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
  keep(changed);
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
  keep(intake);
  tell(intake);
  return intake;
}

std::string IntakeDesk::contactSheet(const std::string& id) {
  fs::path folder;
  {
    const Lock lock(mutex_);
    (void)find(id);
    folder = folderOf(id);
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
    ReadyScan ready = readFinished(folderOf(id));
    for (const IntakePhoto& photo : intake.photos())
      if (photo.state() == IntakePhoto::LOOKED || photo.state() == IntakePhoto::LOOKING)
        ready.finished.photos.push_back(photoFile(id, photo));
    Library library = Library::open(library_);
    // Known before the library changes: who is cut off in between finds what was stored.
    Intake begun = intake;
    begun.set_stored_from(library.lastEvent() + 1);
    keep(begun);
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
  const std::string hold =
      storedSince(library, intake.stored_from(), readFinished(folderOf(intake.id())).finished);
  if (hold.empty()) return false;
  setStored(intake, library.hold(hold));
  return true;
}

void IntakeDesk::setStored(Intake& intake, const Hold& hold) const {
  Intake stored = intake;
  stored.set_state(Intake::STORED);
  stored.set_stored_as(hold.id());
  stored.clear_step();
  keep(stored);
  intake = stored;
  dropStoredFiles(intake);
}

/// The library has them now.
void IntakeDesk::dropStoredFiles(const Intake& intake) const {
  const fs::path folder = folderOf(intake.id());
  std::error_code stays;  // It goes with the folder.
  for (const IntakePhoto& photo : intake.photos()) {
    fs::remove(photoFile(intake.id(), photo), stays);
    fs::remove(folder / (photo.sha256() + ".small"), stays);
  }
  try {
    removeFinished(folder);
  } catch (const fs::filesystem_error&) {
  }
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
  for (IntakePhoto& photo : *found->second.mutable_photos())
    if (photo.sha256() == sha256 && photo.state() == IntakePhoto::LOOKING) return &photo;
  return nullptr;
}

void IntakeDesk::lookAt(const std::string& id, const std::string& sha256) {
  std::string label, mat;
  {
    const Lock lock(mutex_);
    const IntakePhoto* photo = findToLookAt(id, sha256);
    if (photo == nullptr) return;
    label = photo->label();
    mat = find(id).mat().SerializeAsString();
  }
  PhotoLook look;
  look.set_sentence("It cannot be read: its file is damaged.");
  const int status =
      looker_.run(program_,
                  {"desk", "--parent", std::to_string(::getpid()), "look", folderOf(id).string(),
                   label, sha256 + ".small"},
                  [&](const std::string& line) {
                    PhotoLook said;
                    if (google::protobuf::util::JsonStringToMessage(line, &said).ok()) look = said;
                  });
  const Lock lock(mutex_);
  if (closing_ && status != 0) return;  // Looked at again at the next start.
  IntakePhoto* photo = findToLookAt(id, sha256);
  if (photo == nullptr || photo->label() != label) return;
  Intake& intake = find(id);
  if (intake.mat().SerializeAsString() != mat) return;  // It is in the queue once more.
  photo->set_state(IntakePhoto::LOOKED);
  *photo->mutable_look() = look;
  refreshCoverage(intake);
  try {
    keep(intake);
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
  removeFinished(folderOf(id));
  keep(intake);
  tell(intake);
  return true;
}

void IntakeDesk::rebuild(const std::string& id) {
  std::string failure;
  std::vector<std::string> arguments = {
      "desk",           "--parent", std::to_string(::getpid()), "rebuild", folderOf(id).string(),
      library_.string()};
  if (isDatabaseAddress(library_)) arguments.emplace_back("--queued");  // By who is free.
  const int status = rebuilder_.run(program_, arguments, [&](const std::string& line) {
    if (line.starts_with("failed ")) failure = line.substr(7);
    if (!line.starts_with("step ")) return;
    const Lock lock(mutex_);
    const auto found = intakes_.find(id);
    if (found == intakes_.end() || found->second.state() != Intake::RUNNING)
      return rebuilder_.kill();  // Stopped as it started.
    Intake& intake = found->second;
    const std::size_t blank = line.find(' ', 5);
    intake.set_done(std::atof(line.substr(5, blank - 5).c_str()));
    intake.set_step(line.substr(blank + 1));
    tell(intake);
  });
  finishRebuild(id, status, failure);
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
    showResult(readFinished(folderOf(id)), intake);
    intake.set_state(Intake::CHOOSING);
    intake.set_done(1);
  } catch (const std::exception& error) {
    intake.set_state(Intake::FAILED);
    intake.set_sentence(error.what());
  }
  try {
    keep(intake);
  } catch (const std::exception&) {
    // The disk is full, say: there it is still being rebuilt, and is again at the next start.
  }
  returnFreedMemory();
  tell(intake);
}

}  // namespace holdshelf
