// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "proto/intake.pb.h"

namespace holdshelf {

/// Where intakes lie on the disk: LIBRARY/serve/intake/ID/ has an intake's state (intake.json), its
/// photos (under their labels; SHA-256.part while they come in), a small picture of each
/// (SHA-256.small) and what was rebuilt (catalog/finished_files.h). A state is written whole or not
/// at all. No name from a client becomes a path: folders and files are named here.
///
/// Not safe from several threads, but for the paths.
class IntakeFiles {
 public:
  /// Makes the folder, and takes the library's intakes for this program unless another has them.
  explicit IntakeFiles(const std::filesystem::path& library);
  virtual ~IntakeFiles();
  IntakeFiles(const IntakeFiles&) = delete;
  IntakeFiles& operator=(const IntakeFiles&) = delete;

  /// No other program has them.
  bool areOurs() const { return lock_ >= 0; }
  /// Room on the disk, bytes; tests have disks that fill up.
  virtual std::uintmax_t room() const;

  std::filesystem::path folderOf(const std::string& id) const { return folder_ / id; }
  /// Whole or on its way, as its state says.
  std::filesystem::path photoFile(const std::string& id, const IntakePhoto& photo) const;
  static std::string pictureName(const IntakePhoto& photo) { return photo.sha256() + ".small"; }

  /// What is there, each with as much of its photos as has come in. What was stored more than a day
  /// ago is dropped, and what a killed program left unfinished is swept up (mesh/unfinished.h);
  /// what has no state was never begun and is left out. One whose state is damaged has failed, with
  /// the photos that are there.
  /// @throws BadInput  The disk does not give a state that is there.
  std::vector<Intake> readAll() const;
  void keep(const Intake& intake) const;
  void create(const Intake& intake) const;
  void remove(const Intake& intake) const;

  /// Adds bytes to a photo that is on its way; what lies behind `offset` of a piece that was cut
  /// off goes first. @throws std::runtime_error  It cannot be written.
  void addPiece(const std::string& id, const IntakePhoto& photo, std::int64_t offset,
                std::string_view bytes) const;
  /// The library has its photos and what was rebuilt: they go, its state stays.
  void dropStored(const Intake& intake) const;

 private:
  void sweep() const;

  std::filesystem::path folder_;
  int lock_ = -1;  ///< File that is locked while they are this program's; -1: another has them.
};

}  // namespace holdshelf
