// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <google/protobuf/util/json_util.h>

#include <filesystem>
#include <string>

#include "catalog/blob_store.h"
#include "catalog/finished_files.h"
#include "proto/intake.pb.h"

namespace holdshelf::test {

/// Writes an intake as a server left it. @return  Its folder.
inline std::filesystem::path makeIntakeFolder(const std::filesystem::path& library,
                                              const Intake& intake) {
  const std::filesystem::path at = library / "serve" / "intake" / intake.id();
  std::filesystem::create_directories(at);
  for (const IntakePhoto& photo : intake.photos())
    writeFileDurably(at / photo.label(), "photo " + photo.sha256());
  std::string json;
  (void)google::protobuf::util::MessageToJsonString(intake, &json);
  writeFileDurably(at / "intake.json", json);
  return at;
}

/// An intake with one photo that was looked at.
inline Intake intakeWithPhoto(const std::string& id, Intake::State state) {
  Intake intake;
  intake.set_id(id);
  intake.set_state(state);
  intake.set_created_at("2026-01-02T03:04:05Z");
  intake.set_count(1);
  IntakePhoto& photo = *intake.add_photos();
  photo.set_sha256(std::string(64, 'a'));
  photo.set_label("photo-01.jpg");
  photo.set_state(IntakePhoto::LOOKED);
  return intake;
}

/// What is rebuilt of one.
inline ReadyScan readyScanOf(const std::string& id) {
  ReadyScan ready;
  ready.finished.mesh_ply = "mesh of " + id;
  ready.finished.mesh_glb = "view of " + id;
  ready.finished.contact_sheet_png = "sheet of " + id;
  ready.finished.thumbnail_png = "thumbnail of " + id;
  return ready;
}

/// One that is rebuilt and waits for a person to say what it is, its storing begun at the event
/// `stored_from` unless that is 0.
inline Intake makeFinishedIntake(const std::filesystem::path& library, const std::string& id,
                                 std::int64_t stored_from = 0) {
  Intake intake = intakeWithPhoto(id, Intake::CHOOSING);
  intake.set_stored_from(stored_from);
  const std::filesystem::path at = makeIntakeFolder(library, intake);
  writeFinished(at, readyScanOf(id));
  return intake;
}

inline std::filesystem::path makeFinishedFolder(const std::filesystem::path& library,
                                                const std::string& id) {
  (void)makeFinishedIntake(library, id);
  return library / "serve" / "intake" / id;
}

}  // namespace holdshelf::test
