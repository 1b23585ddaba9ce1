// SPDX-License-Identifier: Apache-2.0
#include "catalog/desk_rebuilds.h"

#include <exception>
#include <utility>

#include "catalog/desk_child.h"
#include "catalog/finished_files.h"
#include "catalog/freed_memory.h"
#include "catalog/intake_form.h"
#include "catalog/library_place.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

/// Writes the results on the form, or why there are none.
void showEnd(int status, const std::string& failure, const std::filesystem::path& folder,
             Intake& intake) {
  intake.clear_step();
  try {
    if (!failure.empty()) throw BadInput(failure);
    if (status != 0)
      throw BadInput("The rebuild ended by itself (" + std::to_string(status) +
                     "): the gym's computer may be short of memory; try again, with fewer photos.");
    showResult(readFinished(folder), intake);
    intake.set_state(Intake::CHOOSING);
    intake.set_done(1);
  } catch (const std::exception& error) {
    intake.set_state(Intake::FAILED);
    intake.set_sentence(error.what());
  }
}

}  // namespace

DeskRebuilds::DeskRebuilds(OpenIntakes& intakes, std::filesystem::path program,
                           std::filesystem::path library)
    : intakes_(intakes),
      program_(std::move(program)),
      library_(std::move(library)),
      worker_([this](const DeskWorker::Task& task, ChildProcess& child) {
        try {
          rebuild(task.intake, child);
        } catch (const std::exception& error) {
          finish(task.intake, 0, error.what());
        }
      }) {}

void DeskRebuilds::add(const std::string& id) { worker_.add({id, {}}); }

void DeskRebuilds::stop(const Intake& intake) {
  worker_.remove({intake.id(), {}});
  if (intake.state() == Intake::RUNNING) worker_.killChild();
}

void DeskRebuilds::rebuild(const std::string& id, ChildProcess& child) {
  if (!begin(id)) return;
  const RebuildEnd end =
      rebuildInChild(child, program_, intakes_.files().folderOf(id), library_,
                     [&](double done, const std::string& step) { move(id, done, step); });
  finish(id, end.status, end.failure);
}

/// false: it was stopped or thrown away since.
bool DeskRebuilds::begin(const std::string& id) {
  const OpenIntakes::Lock lock = intakes_.lock();
  Intake* intake = intakes_.look(id);
  if (intake == nullptr || intake->state() != Intake::WAITING) return false;
  intake->set_state(Intake::RUNNING);
  intake->set_step("starting");
  removeFinished(intakes_.files().folderOf(id));
  intakes_.files().keep(*intake);
  intakes_.tell(*intake);
  return true;
}

void DeskRebuilds::move(const std::string& id, double done, const std::string& step) {
  const OpenIntakes::Lock lock = intakes_.lock();
  Intake* intake = intakes_.look(id);
  if (intake == nullptr || intake->state() != Intake::RUNNING)
    return worker_.killChild();  // Stopped as it started.
  intake->set_done(done);
  intake->set_step(step);
  intakes_.tell(*intake);
}

void DeskRebuilds::finish(const std::string& id, int status, const std::string& failure) {
  Intake end;  // Read before the lock is asked for: it takes as long as a mesh file does.
  showEnd(status, failure, intakes_.files().folderOf(id), end);
  end.set_sentence(withoutPlace(end.sentence(), library_));  // Phones read it.
  returnFreedMemory();
  const OpenIntakes::Lock lock = intakes_.lock();
  Intake* intake = intakes_.look(id);
  if (worker_.ending() || intake == nullptr || intake->state() != Intake::RUNNING) return;
  intake->clear_step();
  intake->MergeFrom(end);
  try {
    intakes_.files().keep(*intake);
  } catch (const std::exception&) {
    // The disk is full, say: there it is still being rebuilt, and is again at the next start.
  }
  intakes_.tell(*intake);
}

}  // namespace holdshelf
