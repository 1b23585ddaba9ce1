// SPDX-License-Identifier: Apache-2.0
#include "tests/reliability/durability/crash_harness.h"

#include <fcntl.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <cmath>
#include <optional>
#include <random>
#include <sstream>
#include <stdexcept>
#include <thread>

#include "catalog/library_check.h"
#include "tests/catalog/temp_folder.h"
#include "tests/reliability/durability/acknowledged.h"

namespace fs = std::filesystem;

namespace holdshelf::test {
namespace {

constexpr int kKillsPerLibrary = 28;
// One in so many while it starts: opening, recovery of the log, the first tables. By turns each
// work.
constexpr int kStarts = 8;

/// What a work does, as crash_worker says it; those first that a short run has to meet. A merge is
/// seen from outside by its files only: the last one is copied, and its commit made, while it is
/// "committing".
struct Work {
  std::string name;
  std::vector<std::string> phases;
};
const std::vector<Work>& allWorks() {
  static const std::vector<Work> works = {
      {"intake", {"storing"}},
      {"crates", {"editing"}},
      {"merge", {"committing", "copying", "planning", "making-another"}},
      {"backup", {"swapping", "copying", "snapshot", "verifying", "storing"}},
      {"wear", {"storing", "comparing"}},
      {"serve", {"sending", "asking"}},
      {"migrate", {"migrating", "storing"}}};
  return works;
}

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

  /// Reads until it says for the `time`-th time that it does so. False: it ended before.
  bool waitFor(const std::string& phase, int time) {
    const std::string line = "at " + phase + "\n";
    for (std::size_t from = 0;;) {
      const std::size_t found = text_.find(line, from);
      if (found != std::string::npos) {
        from = found + line.size();
        if (--time == 0) return true;
      } else if (!readSome()) {
        return false;
      }
    }
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

/// What it had said last that it does.
std::string lastPhase(const std::string& text) {
  const std::string lines = "\n" + text.substr(0, text.rfind('\n') + 1);
  const std::size_t at = lines.rfind("\nat ");
  if (at == std::string::npos)
    return lines.find("\nready\n") == std::string::npos ? "starting" : "ready";
  return lines.substr(at + 4, lines.find('\n', at + 1) - at - 4);
}

/// Lines that tell of something that is stored now.
long answersIn(const std::string& text) {
  std::istringstream lines(text);
  long answers = 0;
  for (std::string line; std::getline(lines, line);)
    answers += line.starts_with("stored ") || line.starts_with("piece ");
  return answers;
}

/// From at once to 40 ms: half of them within 2 ms, since most phases are short.
std::chrono::microseconds someTime(std::mt19937& random) {
  if (random() % 4 == 0) return {};
  const double part = double(random() % 1000) / 1000;
  return std::chrono::microseconds(std::lround(100 * std::pow(400, part)));
}

void verify(const fs::path& folder, Acknowledged& told, const std::string& when,
            CrashReport& report) {
  if (told.events.empty() && told.texts.empty() && !fs::exists(folder / "holdshelf.sqlite")) return;
  const auto fault = [&](const std::string& text) { report.faults.push_back(when + ": " + text); };
  try {
    const CheckReport check = checkLibrary(folder, false, {});
    for (const std::string& text : check.faults()) fault(text);
    const std::size_t before = told.events.size();
    for (const std::string& text : told.lostIn(folder)) fault(text);
    report.unacknowledged += static_cast<long>(told.events.size() - before);
  } catch (const std::exception& failure) {
    fault(failure.what());
  }
}

/// One library after the other that is worked on, killed and looked at.
class Crashes {
 public:
  Crashes(const fs::path& program, unsigned seed) : program_(program), seed_(seed), random_(seed) {}

  void kill(int number) {
    if (number % kKillsPerLibrary == 0) folder_.emplace(), told_ = told_of_backup_ = {};
    const fs::path library = *folder_ / "l", backup = *folder_ / "l-backup";
    const Work& work = allWorks()[static_cast<std::size_t>(number) % allWorks().size()];
    const std::string when =
        work.name + ", kill " + std::to_string(number) + " of seed " + std::to_string(seed_);
    const std::string text = killOne(number, work, library, when);
    const std::size_t events = told_.events.size(), photos = told_.pieces.size();
    for (const std::string& fault : told_.read(text, told_of_backup_))
      report.faults.push_back(when + ": " + fault);
    report.acknowledged += static_cast<long>(told_.events.size() - events);
    report.photos += static_cast<long>(told_.pieces.size() - photos);
    verify(library, told_, when, report);
    CrashReport of_backup;  // Of which the events were counted before.
    verify(backup, told_of_backup_, when + ", its backup", of_backup);
    report.faults.insert(report.faults.end(), of_backup.faults.begin(), of_backup.faults.end());
  }

  CrashReport report;

 private:
  /// @return  All that it said.
  std::string killOne(int number, const Work& work, const fs::path& library,
                      const std::string& when) {
    Worker worker(program_, work.name, library, random_());
    const auto wait = someTime(random_);
    if (number % kStarts == kStarts - 1)
      ++report.during_start;
    else if (const std::size_t turn = turns_[work.name]++;
             !worker.waitFor(work.phases[turn % work.phases.size()], 1 + int(turn % 3)))
      report.faults.push_back(when + ": the worker did not get so far");
    std::this_thread::sleep_for(wait);
    if (!worker.kill()) report.faults.push_back(when + ": the worker ended by itself");
    const std::string& text = worker.rest();
    ++report.kills[work.name];
    ++report.phases[work.name + ": " + lastPhase(text)];
    report.answers[work.name] += answersIn(text);
    return text;
  }

  const fs::path program_;
  const unsigned seed_;
  std::mt19937 random_;
  std::optional<TempFolder> folder_;
  Acknowledged told_, told_of_backup_;
  std::map<std::string, std::size_t> turns_;  ///< Of each work through its phases.
};

}  // namespace

std::vector<std::string> CrashReport::untried() const {
  std::vector<std::string> missing;
  for (const Work& work : allWorks()) {
    if (answers.count(work.name) == 0 || answers.at(work.name) == 0)
      missing.push_back("nothing of the work " + work.name + " was acknowledged");
    for (const std::string& phase : work.phases)
      if (phases.count(work.name + ": " + phase) == 0)
        missing.push_back("no kill of the work " + work.name + " was while " + phase);
  }
  if (photos == 0) missing.push_back("no piece of a photo was acknowledged");
  return missing;
}

CrashReport crashLibrary(const fs::path& program, int kills, unsigned seed) {
  Crashes crashes(program, seed);
  for (int kill = 0; kill < kills; ++kill) crashes.kill(kill);
  return std::move(crashes.report);
}

}  // namespace holdshelf::test
