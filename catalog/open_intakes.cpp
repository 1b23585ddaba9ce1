// SPDX-License-Identifier: Apache-2.0
#include "catalog/open_intakes.h"

#include <algorithm>
#include <utility>

#include "catalog/intake_form.h"
#include "mesh/bad_input.h"

namespace holdshelf {

OpenIntakes::OpenIntakes(const std::filesystem::path& library,
                         std::function<void(const IntakeMoved&)> told)
    : files_(library), told_(std::move(told)) {}

int OpenIntakes::countOpen() const {
  return static_cast<int>(std::count_if(intakes_.begin(), intakes_.end(), [](const auto& one) {
    return one.second.state() != Intake::STORED;
  }));
}

IntakeList OpenIntakes::list() const {
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

Intake* OpenIntakes::look(const std::string& id) {
  const auto found = intakes_.find(id);
  return found == intakes_.end() ? nullptr : &found->second;
}

Intake& OpenIntakes::find(const std::string& id) {
  if (Intake* intake = look(id)) return *intake;
  throw BadInput("There is no intake " + id.substr(0, 40) + ": it was thrown away, or stored.");
}

Intake& OpenIntakes::findToChange(Lock& lock, const std::string& id) {
  done_aside_.wait(lock, [&] { return !aside_.contains(id); });
  return find(id);
}

IntakePhoto& OpenIntakes::findPhoto(Intake& intake, const std::string& sha256) {
  if (IntakePhoto* photo = photoNamed(intake, sha256)) return *photo;
  throw BadInput("There is no such photo in this intake: announce it first.");
}

Intake& OpenIntakes::add(Intake intake) {
  const std::string id = intake.id();
  return intakes_[id] = std::move(intake);
}

void OpenIntakes::change(Intake& intake, const Intake& changed) {
  files_.keep(changed);
  if (changed.mat().SerializeAsString() != intake.mat().SerializeAsString())
    ++mat_changes_[intake.id()];
  intake = changed;
}

std::int64_t OpenIntakes::matChanges(const std::string& id) const {
  const auto found = mat_changes_.find(id);
  return found == mat_changes_.end() ? 0 : found->second;
}

void OpenIntakes::remove(const std::string& id) {
  const auto found = intakes_.find(id);
  if (found == intakes_.end()) return;
  files_.remove(found->second);
  intakes_.erase(found);
  mat_changes_.erase(id);
}

void OpenIntakes::tell(const Intake& intake, const std::string& photo) const {
  IntakeMoved moved;
  moved.set_id(intake.id());
  moved.set_state(intake.state());
  moved.set_step(intake.step());
  moved.set_done(intake.done());
  moved.set_photo(photo);
  told_(moved);
}

OpenIntakes::Aside::Aside(OpenIntakes& intakes, Lock& lock, std::string id)
    : intakes_(intakes), lock_(lock), id_(std::move(id)) {
  intakes_.aside_.insert(id_);
  lock_.unlock();
}

OpenIntakes::Aside::~Aside() {
  lock_.lock();
  intakes_.aside_.erase(id_);
  intakes_.done_aside_.notify_all();
}

}  // namespace holdshelf
