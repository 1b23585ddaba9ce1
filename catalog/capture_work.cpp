// SPDX-License-Identifier: Apache-2.0
#include "catalog/capture_work.h"

#include <unistd.h>

#include <array>

#include "catalog/blob_store.h"
#include "catalog/child_process.h"
#include "catalog/console.h"
#include "catalog/database_outage.h"
#include "catalog/finished_files.h"
#include "catalog/lease_keeper.h"
#include "catalog/queued_rebuild.h"
#include "mesh/unreadable_file.h"

namespace fs = std::filesystem;
using namespace std::chrono_literals;

namespace holdshelf {
namespace {

constexpr auto kLongestWait = 30s;  // Between two looks at the queue without a notice.

std::string workerName() {
  std::array<char, 256> host{};
  if (::gethostname(host.data(), host.size() - 1) != 0) host[0] = '?';
  return std::string(host.data()) + ":" + std::to_string(::getpid());
}

/// A folder for one capture, removed with all in it.
struct WorkFolder {
  fs::path path;
  explicit WorkFolder(fs::path made) : path(std::move(made)) {
    fs::remove_all(path);
    fs::create_directories(path);
    fs::permissions(path, fs::perms::owner_all);
  }
  ~WorkFolder() {
    std::error_code ignored;
    fs::remove_all(path, ignored);
  }
};

/// The photos and the intake as the rebuild wants them. Names are given here: those in the queue
/// are somebody else's words.
/// @param go_on  Called before each photo; throws to end it.
std::vector<fs::path> layOut(const Library& library, Intake intake, const fs::path& folder,
                             const std::function<void()>& go_on) {
  std::vector<fs::path> photos;
  for (int i = 0; i < intake.photos_size(); ++i) {
    go_on();
    IntakePhoto& photo = *intake.mutable_photos(i);
    photo.set_label(queuedPhotoLabel(i));
    photos.push_back(folder / photo.label());
    writeFileDurably(photos.back(), library.blobs().get(photo.sha256()));
  }
  writeFileDurably(folder / "intake.json", toJson(intake));
  return photos;
}

/// Works on captures over one connection, until it fails or there is no more to do.
class Worker {
 public:
  Worker(const fs::path& place, const WorkOptions& options)
      : place_(place),
        options_(options),
        name_(options.worker.empty() ? workerName() : options.worker),
        library_(Library::open(place)),
        queue_(queueOf(library_, options.rules)) {}

  void run() {
    while (!stopped()) {
      if (const auto capture = queue_.claim(name_)) {
        workOn(*capture);
      } else if (options_.until_empty && queue_.open() == 0) {
        return;
      } else {
        queue_.wait(kLongestWait, options_.stop);
      }
    }
  }

 private:
  bool stopped() const { return options_.stop && options_.stop(); }
  void say(const std::string& sentence) const {
    if (options_.say) options_.say(sentence);
  }

  void workOn(const QueuedCapture& capture) {
    const std::string what = "capture " + std::to_string(capture.id());
    say("Took " + what + " (" + capture.intake().name() + ", " +
        std::to_string(capture.intake().photos_size()) + " photos).");
    try {
      attempt(capture, what);
    } catch (const ClaimLost& lost) {
      say(lost.what() + std::string(" Nothing of it was stored here."));
    }
  }

  /// What may do another time, here or elsewhere, is tried again; only what is wrong with the
  /// capture sets it aside.
  /// @throws ClaimLost  And StoreError, StoreUnavailable, where the library is to be waited for.
  void attempt(const QueuedCapture& capture, const std::string& what) {
    try {
      rebuildAndStore(capture, what);
    } catch (const ClaimLost&) {
      throw;
    } catch (const StoreUnavailable&) {
      // Where the database answers, it is a disk of this machine that does not take the files, or a
      // folder that is not mounted. The words are said where it is waited for: phones read these.
      queue_.failed(capture, "The library could not be reached or written to.");
      throw;
    } catch (const StoreError&) {
      throw;
    } catch (const Interrupted&) {
      queue_.putBack(capture);
      say("Put " + what + " back.");
    } catch (const UnreadableFile& error) {
      tryAgain(capture, what, error);
    } catch (const BadInput& error) {
      queue_.setAside(capture, error.what());
      say("Set " + what + " aside: " + error.what());
    } catch (const std::exception& error) {
      tryAgain(capture, what, error);
    }
  }

  void tryAgain(const QueuedCapture& capture, const std::string& what,
                const std::exception& error) {
    queue_.failed(capture, error.what());
    say("Could not finish " + what + ": " + error.what());
  }

  /// Nobody else has the capture, and nobody wants to stop. @throws ClaimLost, Interrupted
  static void needClaim(const LeaseKeeper& keeper, const QueuedCapture& capture) {
    if (keeper.lost())
      throw ClaimLost("Another worker has taken capture " + std::to_string(capture.id()) +
                      " since.");
    if (keeper.stopped()) throw Interrupted();
  }

  /// What the rebuild says of itself when it fails for ever; a throw where it may do another time.
  void rebuild(const QueuedCapture& capture, const fs::path& folder, ChildProcess& child,
               const LeaseKeeper& keeper) {
    needClaim(keeper, capture);
    std::string failure, unavailable;
    const int status = child.run(options_.program,
                                 {"desk", "--parent", std::to_string(::getpid()), "rebuild",
                                  folder.string(), place_.string()},
                                 [&](const std::string& line) {
                                   if (line.starts_with("failed ")) failure = line.substr(7);
                                   if (line.starts_with("unavailable "))
                                     unavailable = line.substr(12);
                                   if (keeper.lost() || keeper.stopped()) child.kill();
                                 });
    needClaim(keeper, capture);
    if (status != 0 && stopped()) throw Interrupted();
    if (!failure.empty()) throw BadInput(failure);
    if (!unavailable.empty()) {
      say(unavailable);  // Here: what is thrown is shown on the desk's page.
      throw std::runtime_error("The library could not be reached when it was rebuilt.");
    }
    if (status != 0)
      throw std::runtime_error("The rebuild ended by itself (" + std::to_string(status) +
                               "): the machine may be short of memory.");
  }

  void rebuildAndStore(const QueuedCapture& capture, const std::string& what) {
    const WorkFolder folder(options_.scratch / ("capture-" + std::to_string(capture.id()) + "-" +
                                                std::to_string(capture.claim())));
    ChildProcess child;
    // To the end: photos may come slowly, and who stores waits for all who write.
    const LeaseKeeper keeper(place_, capture, options_.rules, options_.stop, [&] { child.kill(); });
    const std::vector<fs::path> photos =
        layOut(library_, capture.intake(), folder.path, [&] { needClaim(keeper, capture); });
    rebuild(capture, folder.path, child, keeper);
    if (capture.store()) {
      FinishedScan finished = readFinished(folder.path).finished;
      finished.photos = photos;
      library_.actAt(capture.site());
      const Hold hold = storeScan(library_, std::move(finished), labelsOf(capture.intake()), {},
                                  [&](const std::string& id) { queue_.finishWithin(capture, id); });
      say("Stored " + what + " as " + hold.id() + ".");
    } else {
      RebuiltCapture result;
      for (const std::string& name : finishedNames())
        (*result.mutable_files())[name] = library_.blobs().put(readFile(folder.path / name));
      queue_.finish(capture, result);
      say("Rebuilt " + what + ".");
    }
  }

  const fs::path& place_;
  const WorkOptions& options_;
  std::string name_;
  Library library_;
  CaptureQueue queue_;
};

}  // namespace

void workOnQueue(const fs::path& place, const WorkOptions& options) {
  (void)queueOf(Library::open(place));  // Said at once, not tried for ever.
  (void)doThroughOutages(
      [&](const std::function<void()>& reached) {
        Worker worker(place, options);
        reached();
        worker.run();
      },
      [&](const std::string& why) {
        if (options.say) options.say("Waiting for the library: " + why);
      },
      options.stop);
}

}  // namespace holdshelf
