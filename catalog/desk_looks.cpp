// SPDX-License-Identifier: Apache-2.0
#include "catalog/desk_looks.h"

#include <exception>
#include <utility>

#include "catalog/desk_child.h"
#include "catalog/intake_form.h"

namespace holdshelf {

DeskLooks::DeskLooks(OpenIntakes& intakes, std::filesystem::path program,
                     std::chrono::milliseconds pause)
    : intakes_(intakes),
      program_(std::move(program)),
      worker_(
          [this](const DeskWorker::Task& task, ChildProcess& child) {
            try {
              look(task, child);
            } catch (const std::exception&) {  // No child could be started, say.
              worker_.addAgain(task);
            }
          },
          pause) {}

void DeskLooks::add(const std::string& intake, const std::string& sha256) {
  worker_.add({intake, sha256});
}

void DeskLooks::addWaiting(const Intake& intake) {
  for (const IntakePhoto& photo : intake.photos())
    if (photo.state() == IntakePhoto::LOOKING) add(intake.id(), photo.sha256());
}

/// The photo while it waits to be looked at; nullptr when it was looked at or thrown away since.
IntakePhoto* DeskLooks::findWaiting(const DeskWorker::Task& task) {
  Intake* intake = intakes_.look(task.intake);
  IntakePhoto* photo = intake == nullptr ? nullptr : photoNamed(*intake, task.photo);
  return photo != nullptr && photo->state() == IntakePhoto::LOOKING ? photo : nullptr;
}

void DeskLooks::look(const DeskWorker::Task& task, ChildProcess& child) {
  std::string label, picture;
  std::int64_t mat_changes = 0;
  {
    const OpenIntakes::Lock lock = intakes_.lock();
    const IntakePhoto* photo = findWaiting(task);
    if (photo == nullptr) return;
    label = photo->label();
    picture = IntakeFiles::pictureName(*photo);
    mat_changes = intakes_.matChanges(task.intake);
  }
  const LookEnd end =
      lookInChild(child, program_, intakes_.files().folderOf(task.intake), label, picture);
  const OpenIntakes::Lock lock = intakes_.lock();
  if (worker_.ending() && end.status != 0) return;  // Looked at again at the next start.
  IntakePhoto* photo = findWaiting(task);
  if (photo == nullptr || photo->label() != label) return;
  if (intakes_.matChanges(task.intake) != mat_changes) return;  // It is in the queue once more.
  Intake& intake = intakes_.find(task.intake);
  photo->set_state(IntakePhoto::LOOKED);
  *photo->mutable_look() = end.look;
  refreshCoverage(intake);
  try {
    intakes_.files().keep(intake);
  } catch (const std::exception&) {  // The disk is full, say: it is looked at again at a restart.
  }
  intakes_.tell(intake, task.photo);
}

}  // namespace holdshelf
