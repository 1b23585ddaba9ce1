// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <condition_variable>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <map>
#include <mutex>
#include <set>
#include <string>

#include "catalog/intake_files.h"
#include "proto/intake.pb.h"

namespace holdshelf {

/// The intakes of a desk as they stand: in memory, and each change of them on the disk first.
/// Whoever wants to hear of their moves is told.
///
/// One lock is over all of them: all below is called with lock() held, but for files(). It is held
/// for moments only. What takes longer is done aside(): the lock is given up meanwhile, everybody
/// may look at the intake, and who would change it waits in findToChange().
class OpenIntakes {
 public:
  using Lock = std::unique_lock<std::mutex>;

  /// @param told  Called with the lock held when one moves on; must not ask for it.
  OpenIntakes(const std::filesystem::path& library, std::function<void(const IntakeMoved&)> told);

  Lock lock() { return Lock(mutex_); }
  /// The paths and whose they are may be asked for without the lock.
  const IntakeFiles& files() const { return files_; }

  /// How many are not in the library yet.
  int countOpen() const;
  /// Without photos and results, the newest first.
  IntakeList list() const;
  /// nullptr: there is none, or no more.
  Intake* look(const std::string& id);
  /// @throws BadInput  There is none.
  Intake& find(const std::string& id);
  /// The same once nobody works on it aside; the lock is given up while that is waited for.
  Intake& findToChange(Lock& lock, const std::string& id);
  /// @throws BadInput  It was not announced.
  static IntakePhoto& findPhoto(Intake& intake, const std::string& sha256);

  /// Takes one in that is on the disk already.
  Intake& add(Intake intake);
  /// Writes it down as `changed`, then lets it be that.
  void change(Intake& intake, const Intake& changed);
  /// How often its mat was changed: a look that began before another count may have seen any of
  /// those it has had, also where it has the first one again.
  std::int64_t matChanges(const std::string& id) const;
  /// Throws one away, with its files.
  void remove(const std::string& id);
  /// @param photo  SHA-256 of the photo that it is about, if it is.
  void tell(const Intake& intake, const std::string& photo = {}) const;

  /// Does `work` without the lock while nobody else changes this intake, but for what is found out
  /// about its photos: work on a copy. @return  What `work` returns.
  template <typename Work>
  auto aside(Lock& lock, const std::string& id, const Work& work) {
    const Aside meanwhile(*this, lock, id);
    return work();
  }

 private:
  /// Gives the lock up for as long as it lives.
  struct Aside {
    Aside(OpenIntakes& intakes, Lock& lock, std::string id);
    ~Aside();
    OpenIntakes& intakes_;
    Lock& lock_;
    std::string id_;
  };

  std::mutex mutex_;
  IntakeFiles files_;
  std::function<void(const IntakeMoved&)> told_;
  std::map<std::string, Intake> intakes_;
  std::map<std::string, std::int64_t> mat_changes_;
  std::set<std::string> aside_;  ///< Those that are worked on without the lock.
  std::condition_variable done_aside_;
};

}  // namespace holdshelf
