// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>
#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <string_view>

#include "catalog/desk_looks.h"
#include "catalog/desk_rebuilds.h"
#include "catalog/open_intakes.h"
#include "proto/intake.pb.h"

namespace holdshelf {

struct IntakeChoice;

/// Where photos come in and wait until they are a hold. All of it lies in files
/// (catalog/intake_files.h) and survives the end of the program at any moment; what was being done
/// is begun again at the next start. What was stored is dropped at a start a day later.
///
/// Photos are named by their SHA-256, told before they come, and may come in pieces over any number
/// of connections (catalog/intake_photos.h). Looking at photos and rebuilding is done by processes
/// of their own, one each at a time, which give way to all else (catalog/desk_looks.h,
/// catalog/desk_rebuilds.h).
///
/// One program at a time takes holds in for a library: a second one has no intakes and opens none.
///
/// Safe from several threads. BadInput where an intake, a photo or a step is not there to be had.
class IntakeDesk {
 public:
  static constexpr int kMostOpen = 20;

  /// @param told  Called from any thread when one moves on; must not ask the desk.
  IntakeDesk(std::filesystem::path library, const std::filesystem::path& program,
             std::function<void(const IntakeMoved&)> told);

  /// A new one with the labels, mat and quality of `wanted`.
  Intake open(const Intake& wanted, const std::string& who);
  /// Changes labels, mat and quality while it is not being rebuilt.
  Intake change(const std::string& id, const Intake& wanted);
  Intake get(const std::string& id);
  /// Without photos and results, the newest first.
  IntakeList list();
  /// Throws away what came in; what was stored stays in the library.
  void forget(const std::string& id);

  /// Says that a photo will come (sha256, name, size); one that is here already is left as it is.
  IntakePhoto announce(const std::string& id, const IntakePhoto& photo);
  IntakePhoto photo(const std::string& id, const std::string& sha256);
  /// Adds bytes of it. nullopt: they do not begin where it ends so far (see photo().received).
  std::optional<IntakePhoto> receive(const std::string& id, const std::string& sha256,
                                     std::int64_t offset, std::string_view bytes);
  void removePhoto(const std::string& id, const std::string& sha256);
  /// A small JPEG of a photo that was looked at.
  std::string picture(const std::string& id, const std::string& sha256);

  /// Puts it in the queue for the rebuild.
  Intake start(const std::string& id);
  /// Takes it out again, or ends the rebuild.
  Intake cancel(const std::string& id);
  std::string contactSheet(const std::string& id);
  /// Stores what was rebuilt as what a person said it is. Meanwhile all intakes can be looked at;
  /// who would change this one, or store it too, waits.
  Intake store(const std::string& id, const IntakeDecision& decision, const std::string& who);

 private:
  void load();
  std::string storedBefore(const Intake& intake) const;
  std::string storeNow(const Intake& intake, const IntakeChoice& choice,
                       const std::string& who) const;
  void setStored(Intake& intake, const std::string& hold);

  std::filesystem::path library_;
  OpenIntakes intakes_;
  DeskLooks looks_;  // These two use the intakes.
  DeskRebuilds rebuilds_;
};

}  // namespace holdshelf
