// SPDX-License-Identifier: Apache-2.0
#include "tests/reliability/durability/crash_harness.h"

#include <fcntl.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <functional>
#include <iterator>
#include <optional>
#include <random>
#include <sstream>
#include <stdexcept>
#include <thread>

#include "catalog/intake_desk.h"
#include "catalog/library_check.h"
#include "mesh/bad_input.h"
#include "tests/catalog/temp_folder.h"

namespace fs = std::filesystem;

namespace holdshelf::test {
namespace {

constexpr int kKillsPerLibrary = 28;

/// One worker with a pipe from its standard output.
class Worker {
 public:
  Worker(const fs::path& program, const std::string& work, const fs::path& folder, unsigned seed) {
    int ends[2];
    if (::pipe2(ends, O_CLOEXEC) != 0) throw std::runtime_error("no pipe");
    const std::string seed_text = std::to_string(seed);
    pid_ = ::fork();
    if (pid_ == 0) {
      ::dup2(ends[1], STDOUT_FILENO);
      ::execl(program.c_str(), program.c_str(), work.c_str(), folder.c_str(), seed_text.c_str(),
              static_cast<char*>(nullptr));
      ::_exit(127);
    }
    ::close(ends[1]);
    out_ = ends[0];
  }
  ~Worker() {
    if (pid_ > 0) kill();
    ::close(out_);
  }
  Worker(const Worker&) = delete;
  Worker& operator=(const Worker&) = delete;

  /// Reads so many lines, of which the first says that the library is open. False: the worker ended
  /// before.
  bool waitForLines(long lines) {
    while (std::count(text_.begin(), text_.end(), '\n') < lines)
      if (!readSome()) return false;
    return true;
  }
  /// @return  False: it had ended by itself.
  bool kill() {
    ::kill(pid_, SIGKILL);
    int status = 0;
    ::waitpid(pid_, &status, 0);
    pid_ = 0;
    return WIFSIGNALED(status);
  }
  /// All that it wrote.
  const std::string& rest() {
    while (readSome()) {
    }
    return text_;
  }

 private:
  bool readSome() {
    char buffer[65536];
    const ssize_t size = ::read(out_, buffer, sizeof buffer);
    if (size > 0) text_.append(buffer, static_cast<std::size_t>(size));
    return size > 0;
  }

  pid_t pid_ = 0;
  int out_ = -1;
  std::string text_;
};

/// What the callers of one library were ever told to be stored.
struct Acknowledged {
  std::map<std::int64_t, std::string> events;  ///< Digests, by number.
  /// Bytes of photos on their way in, by intake and SHA-256.
  std::map<std::pair<std::string, std::string>, std::int64_t> pieces;
  std::int64_t backed_up = 0;  ///< Number of the last event that is in the backup.
};

/// Whole lines only: the last one may have been cut by the kill.
void readAcknowledged(const std::string& text, Acknowledged& told) {
  std::istringstream lines(text.substr(0, text.rfind('\n') + 1));
  for (std::string word, digest; lines >> word;) {
    std::int64_t number = 0;
    if (word == "ack") {
      lines >> number >> digest;
      told.events[number] = digest;
    } else if (word == "backed-up") {
      lines >> told.backed_up;
    } else if (word == "piece") {
      std::string intake;
      lines >> intake >> digest >> number;
      std::int64_t& most = told.pieces[{intake, digest}];
      most = std::max(most, number);
    }
  }
}

/// What of it was said to be in the backup.
Acknowledged backedUp(const Acknowledged& told) {
  Acknowledged backup;
  backup.events = {told.events.begin(), told.events.upper_bound(told.backed_up)};
  return backup;
}

/// What a server that is started again has of every photo.
void verifyPieces(const fs::path& folder, const Acknowledged& told,
                  const std::function<void(const std::string&)>& fault) {
  if (told.pieces.empty()) return;
  IntakeDesk desk(folder, "/bin/false", [](const IntakeMoved&) {});
  for (const auto& [which, bytes] : told.pieces)
    if (const std::int64_t here = desk.photo(which.first, which.second).received(); here < bytes)
      fault("of a photo " + std::to_string(bytes) + " bytes were acknowledged and " +
            std::to_string(here) + " are there");
}

void verify(const fs::path& folder, Acknowledged& told, const std::string& when,
            CrashReport& report) {
  const auto fault = [&](const std::string& text) { report.faults.push_back(when + ": " + text); };
  try {
    const CheckReport check = checkLibrary(folder, false, {});
    for (const std::string& text : check.faults()) fault(text);
    const Library library = Library::open(folder);
    std::map<std::int64_t, std::string> stored;
    sqlite::Statement event(library.database(), "SELECT number, body FROM event");
    while (event.step()) stored[event.integer(0)] = sha256Hex(event.blob(1));
    for (const auto& [number, digest] : told.events)
      if (stored[number] != digest) fault("event " + std::to_string(number) + " is lost");
    report.unacknowledged += static_cast<long>(stored.size() - told.events.size());
    told.events = std::move(stored);  // From now on none of these may go either.
    verifyPieces(folder, told, fault);
  } catch (const std::exception& failure) {
    fault(failure.what());
  }
}

}  // namespace

CrashReport crashLibrary(const fs::path& program, int kills, unsigned seed) {
  CrashReport report;
  std::mt19937 random(seed);
  const char* const works[] = {"intake", "crates", "merge", "backup", "wear", "serve", "migrate"};
  std::optional<TempFolder> folder;
  Acknowledged told, told_of_backup;
  for (int kill = 0; kill < kills; ++kill) {
    if (kill % kKillsPerLibrary == 0) folder.emplace(), told = told_of_backup = {};
    const fs::path library = *folder / "l", backup = *folder / "l-backup";
    const std::string work = works[static_cast<std::size_t>(kill) % std::size(works)];
    const std::string when =
        work + ", kill " + std::to_string(kill) + " of seed " + std::to_string(seed);
    Worker worker(program, work, library, random());
    // One in eight while it starts: opening, recovery of the log, the first tables.
    const bool during_start = random() % 8 == 0;
    if (during_start)
      ++report.during_start;
    else if (!worker.waitForLines(1 + static_cast<long>(random() % 16)))
      report.faults.push_back(when + ": the worker did not start");
    std::this_thread::sleep_for(std::chrono::microseconds(random() % 40'000));
    if (!worker.kill()) report.faults.push_back(when + ": the worker ended by itself");
    ++report.kills[work];
    const std::size_t before = told.events.size(), pieces = told.pieces.size();
    readAcknowledged(worker.rest(), told);
    report.acknowledged += static_cast<long>(told.events.size() - before);
    report.photos += static_cast<long>(told.pieces.size() - pieces);
    told_of_backup.events.merge(backedUp(told).events);
    if (!told.events.empty() || fs::exists(library / "holdshelf.sqlite"))
      verify(library, told, when, report);
    CrashReport of_backup;
    if (!told_of_backup.events.empty() || fs::exists(backup / "holdshelf.sqlite"))
      verify(backup, told_of_backup, when + ", its backup", of_backup);
    report.faults.insert(report.faults.end(), of_backup.faults.begin(), of_backup.faults.end());
  }
  return report;
}

}  // namespace holdshelf::test
