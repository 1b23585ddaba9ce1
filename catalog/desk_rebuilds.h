// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <string>

#include "catalog/desk_worker.h"
#include "catalog/open_intakes.h"

namespace holdshelf {

/// Rebuilds intakes, one after another, each in a child (catalog/desk_child.h): from WAITING over
/// RUNNING to CHOOSING with the results on the form, or to FAILED with a sentence. One that is in
/// another state when its turn or its end comes was stopped, and is left as it is.
class DeskRebuilds {
 public:
  DeskRebuilds(OpenIntakes& intakes, std::filesystem::path program, std::filesystem::path library);

  /// An intake that is WAITING.
  void add(const std::string& id);
  /// Takes it out of the line or ends its rebuild; the intake still says how far it was. With the
  /// intakes' lock.
  void stop(const Intake& intake);

 private:
  void rebuild(const std::string& id, ChildProcess& child);
  bool begin(const std::string& id);
  void move(const std::string& id, double done, const std::string& step);
  void finish(const std::string& id, int status, const std::string& failure);

  OpenIntakes& intakes_;
  std::filesystem::path program_, library_;
  DeskWorker worker_;  // Last: its thread uses what is above.
};

}  // namespace holdshelf
