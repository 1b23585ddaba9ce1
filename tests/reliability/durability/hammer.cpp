// SPDX-License-Identifier: Apache-2.0
#include "tests/reliability/durability/hammer.h"

#include <sys/wait.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <mutex>
#include <optional>
#include <random>
#include <set>
#include <thread>

#include "catalog/climbs.h"
#include "catalog/console.h"
#include "catalog/gym.h"
#include "catalog/library_check.h"
#include "proto/event.pb.h"
#include "tests/catalog/temp_folder.h"
#include "tests/reliability/durability/http_client.h"
#include "tests/reliability/durability/linear_history.h"
#include "tests/reliability/durability/server_process.h"

namespace fs = std::filesystem;

namespace holdshelf::test {
namespace {

using Kind = Operation::Kind;
constexpr int kClients = 8;
constexpr long kMostUnanswered = 8;  // Each may have happened at any time: orders double.
const char* const kCrates[] = {"C-0001", "C-0002"};

std::int64_t now_ns() {
  return std::chrono::steady_clock::now().time_since_epoch() / std::chrono::nanoseconds(1);
}

struct Said {
  int status = -1;  ///< Exit status; 124: it took longer than five minutes.
  std::string out;
};

/// What a shell command says.
Said shell(const std::string& command) {
  Said said;
  FILE* pipe = ::popen(("timeout 300 " + command + " 2>&1").c_str(), "re");
  if (pipe == nullptr) return said;
  char buffer[8192];
  for (std::size_t size; (size = std::fread(buffer, 1, sizeof buffer, pipe)) > 0;)
    said.out.append(buffer, size);
  const int status = ::pclose(pipe);
  said.status = WIFEXITED(status) ? WEXITSTATUS(status) : 128;
  return said;
}

void makeLibrary(const fs::path& folder, int holds) {
  Library library = Library::openOrCreate(folder);
  Gym gym;
  WallPanel& panel = panelToEdit(zoneToEdit(gym, "cave"), "roof");
  panel.set_wall_angle_deg(35);
  panel.mutable_fixing()->set_thread(M10);
  panel.mutable_fixing()->set_panel_mm(18);
  panel.mutable_fixing()->set_barrel_mm(11);
  panel.set_columns(20), panel.set_rows(20), panel.set_pitch_mm(200);
  describeGym(library, gym);
  for (int i = 0; i < holds; ++i) {
    std::vector<Event> events(1);
    events[0].mutable_created()->set_name("Shingle");
    events[0].mutable_created()->set_status(SHELF);
    library.commit(events);
  }
  for (const char* id : kCrates) {
    Climb wanted;
    wanted.set_name(id);
    wanted.set_zone("cave");
    (void)startClimb(library, wanted);
  }
}

/// One client's way to the library, in the words of either entry.
class Client {
 public:
  Client(int number, const HammerOptions& options, const fs::path& library, int port)
      : number_(number),
        port_(number < kClients / 2 ? port : 0),
        program_("env HOLDSHELF_WHO=client" + std::to_string(number) + " " +
                 options.program.string()),
        library_(" -l " + library.string()) {}

  /// The last answer to a change, for a person to read.
  const std::string& said() const { return said_; }

  int port() const { return port_; }  ///< 0: the command line.
  const char* way() const { return port_ > 0 ? "server" : "command line"; }

  /// What came back: nothing when no answer came; else whether it was done.
  std::optional<bool> setBin(const std::string& id, const std::string& bin) const {
    return change("holds/" + id + "/edit", R"({"fields":["bin"],"bin":")" + bin + "\"}",
                  "edit " + id + " --bin " + bin);
  }
  std::optional<bool> take(const std::string& id, const std::string& crate) const {
    return change("climbs/" + crate + "/change", R"({"added":{"hold":")" + id + "\"}}",
                  "crate add " + crate + " " + id);
  }
  std::optional<bool> drop(const std::string& id, const std::string& crate) const {
    return change("climbs/" + crate + "/change", R"({"dropped":")" + id + "\"}",
                  "crate drop " + crate + " " + id);
  }
  std::optional<bool> note(const std::string& id, const std::string& text) const {
    return change("holds/" + id + "/note", R"({"text":")" + text + "\"}",
                  "note " + id + " --text " + text);
  }
  std::optional<Hold> read(const std::string& id) const {
    std::string json;
    if (port_ > 0) {
      const HttpAnswer answer = askServer(port_, "GET", "/api/v1/holds/" + id);
      if (answer.status != 200) return std::nullopt;
      json = answer.body;
    } else {
      const Said said = shell(program_ + " show " + id + " --json" + library_);
      if (said.status != 0) return std::nullopt;
      json = said.out;
    }
    Hold hold;
    fromJson(json, "The hold", hold);
    return hold;
  }

 private:
  std::optional<bool> change(const std::string& target, const std::string& body,
                             const std::string& command) const {
    if (port_ > 0) {
      const HttpAnswer answer = askServer(port_, "POST", "/api/v1/" + target, body);
      said_ = std::to_string(answer.status) + " " + answer.body;
      if (answer.status == 200) return true;
      return answer.status >= 400 && answer.status < 500 ? std::optional(false) : std::nullopt;
    }
    const Said said = shell(program_ + " " + command + library_);
    said_ = std::to_string(said.status) + " " + said.out;
    if (said.status == 0) return true;
    return said.status == 1 ? std::optional(false) : std::nullopt;
  }

  int number_, port_;
  std::string program_, library_;
  mutable std::string said_;
};

std::string idOf(int hold) {
  char id[16];
  std::snprintf(id, sizeof id, "H-%04d", hold + 1);
  return id;
}

/// A set that only the hold of this intake is in.
std::string setOf(long intake) { return "taken-" + std::to_string(intake); }

/// Everything that is shared by the threads of one run.
struct Run {
  const HammerOptions& options;
  fs::path library;
  int port = 0;
  std::atomic<bool> over = false, taking_in = false;
  std::mutex mutex = {};
  std::map<std::string, std::vector<Operation>> bins = {}, crates = {};  ///< By hold.
  std::set<std::string> notes = {};                                      ///< Acknowledged.
  std::vector<std::string> sets = {};  ///< Of holds whose intake ended well.
  HammerReport report = {};
};

const char* nameOf(Kind kind) {
  const char* const names[] = {"write", "read", "take", "put back"};
  return names[static_cast<int>(kind)];
}

void readOnce(Run& run, const Client& client, const std::string& id, Operation o) {
  o.kind = Kind::Read;
  const bool during = run.taking_in;
  o.began_ns = now_ns();
  const auto hold = client.read(id);
  o.ended_ns = now_ns();
  const std::lock_guard lock(run.mutex);
  if (client.port() == 0)
    (during || run.taking_in ? run.report.shown_during_intake : run.report.shown)
        .ms.push_back(static_cast<double>(o.ended_ns - o.began_ns) * 1e-6);
  ++run.report.operations[std::string("read, ") + client.way()];
  if (!hold) return (void)++run.report.unanswered;
  o.value = hold->bin();
  run.bins[id].push_back(o);
  o.value = hold->crate();
  run.crates[id].push_back(o);
}

void changeOnce(Run& run, const Client& client, const std::string& id, Operation o) {
  o.began_ns = now_ns();
  const auto done = o.kind == Kind::Write  ? client.setBin(id, o.value)
                    : o.kind == Kind::Take ? client.take(id, o.value)
                                           : client.drop(id, o.value);
  o.ended_ns = now_ns();
  o.unknown = !done;
  o.said = client.said();
  o.refused = done && !*done;
  const std::lock_guard lock(run.mutex);
  ++run.report.operations[std::string(nameOf(o.kind)) + ", " + client.way()];
  run.report.refused += o.refused;
  run.report.unanswered += o.unknown;
  if (o.unknown) run.report.faults.push_back("no answer: " + client.said());
  (o.kind == Kind::Write ? run.bins : run.crates)[id].push_back(o);
}

void noteOnce(Run& run, const Client& client, const std::string& id, const std::string& text) {
  const auto done = client.note(id, text);
  const std::lock_guard lock(run.mutex);
  ++run.report.operations[std::string("note, ") + client.way()];
  if (done == true)
    run.notes.insert(id + " " + text);
  else
    run.report.faults.push_back("a note was refused: " + client.said());
}

void work(Run& run, int number) {
  const Client client(number, run.options, run.library, run.port);
  std::mt19937 random(run.options.seed * 100 + static_cast<unsigned>(number));
  for (int n = 0; !run.over; ++n) {
    const std::string id =
        idOf(static_cast<int>(random() % static_cast<unsigned>(run.options.holds)));
    Operation o;
    o.client = number;
    const unsigned what = random() % 10;
    const std::string own = "c" + std::to_string(number) + "-" + std::to_string(n);
    if (what < 3) {
      readOnce(run, client, id, o);
    } else if (what < 5) {
      o.kind = Kind::Write;
      o.value = own;
      changeOnce(run, client, id, o);
    } else if (what < 9) {
      o.kind = what < 7 ? Kind::Take : Kind::Drop;
      o.value = kCrates[random() % 2];
      changeOnce(run, client, id, o);
    } else {
      noteOnce(run, client, id, own);
    }
  }
}

/// Asks for one hold again and again and takes the time.
void watch(Run& run) {
  while (!run.over) {
    const bool during = run.taking_in;
    const std::int64_t start = now_ns();
    const HttpAnswer answer = askServer(run.port, "GET", "/api/v1/holds/H-0001");
    const double ms = static_cast<double>(now_ns() - start) * 1e-6;
    const std::lock_guard lock(run.mutex);
    if (answer.status != 200) ++run.report.unanswered;
    (during || run.taking_in ? run.report.reads_during_intake : run.report.reads).ms.push_back(ms);
    std::this_thread::sleep_for(std::chrono::milliseconds(10));
  }
}

void takeIn(Run& run) {
  for (long intake = 1; !run.over; ++intake) {
    run.taking_in = true;
    const Said said =
        shell(run.options.program.string() + " import --units mm --set " + setOf(intake) + " " +
              run.options.mesh.string() + " -l " + run.library.string());
    run.taking_in = false;
    {
      const std::lock_guard lock(run.mutex);
      if (said.status == 0)
        run.sets.push_back(setOf(intake));
      else
        run.report.faults.push_back("an intake ended with " + std::to_string(said.status));
    }
    for (int i = 0; i < 10 && !run.over; ++i)
      std::this_thread::sleep_for(std::chrono::milliseconds(100));
  }
}

void waitForTheEnd(Run& run) {
  const std::int64_t start = now_ns();
  const auto lasted = [&](double seconds) {
    return static_cast<double>(now_ns() - start) * 1e-9 >= seconds;
  };
  const auto enough = [&] {
    const std::lock_guard lock(run.mutex);
    return !run.options.enough || run.options.enough(run.report);
  };
  while (!lasted(run.options.seconds) || (!enough() && !lasted(run.options.longest_seconds)))
    std::this_thread::sleep_for(std::chrono::milliseconds(20));
}

/// Every hold whose intake ended well is there once, with its scan, and no other came in.
void judgeIntakes(const Library& library, Run& run) {
  auto& faults = run.report.faults;
  std::map<std::string, int> scans_of_set;
  library.forEachHold(
      [&](std::int64_t, const Hold& hold) { scans_of_set[hold.set()] += hold.scans_size(); });
  for (const std::string& set : run.sets)
    if (scans_of_set[set] != 1)
      faults.push_back("the hold " + set + " is there with " + std::to_string(scans_of_set[set]) +
                       " scans");
  run.report.taken_in = static_cast<long>(run.sets.size());
  const auto expected = static_cast<std::int64_t>(run.options.holds + run.report.taken_in);
  if (static_cast<std::int64_t>(library.size()) != expected)
    faults.push_back("there are " + std::to_string(library.size()) + " holds, not " +
                     std::to_string(expected));
}

void judge(Run& run) {
  auto& faults = run.report.faults;
  if (run.report.unanswered > kMostUnanswered)
    return faults.push_back("too many operations were never answered to judge the others");
  for (const auto& [id, operations] : run.bins)
    if (const auto why = whyNotLinearizable(operations, ""); !why.empty())
      faults.push_back("the bin of " + id + ": " + why);
  for (const auto& [id, operations] : run.crates)
    if (const auto why = whyNotLinearizable(operations, ""); !why.empty())
      faults.push_back("the crate of " + id + ": " + why);
  for (const std::string& fault : checkLibrary(run.library, false, {}).faults())
    faults.push_back(fault);
  const Library library = Library::open(run.library);
  std::map<std::string, int> noted;
  library.forEachEvent([&](const Event& event) {
    if (!event.noted().empty()) ++noted[event.hold() + " " + event.noted()];
  });
  for (const std::string& note : run.notes)
    if (noted[note] != 1)
      faults.push_back("note " + note + " is there " + std::to_string(noted[note]) + " times");
  run.report.notes = static_cast<long>(run.notes.size());
  judgeIntakes(library, run);
}

}  // namespace

double Waits::quantile(double part) const {
  if (ms.empty()) return 0;
  std::vector<double> sorted = ms;
  std::sort(sorted.begin(), sorted.end());
  const auto at = static_cast<std::size_t>(std::ceil(part * static_cast<double>(sorted.size())));
  return sorted[std::clamp<std::size_t>(at, 1, sorted.size()) - 1];
}

HammerReport hammerLibrary(const HammerOptions& options) {
  const TempFolder folder;
  Run run{options, folder / "library"};
  makeLibrary(run.library, options.holds);
  {
    ServerProcess serving(options.program, run.library);
    run.port = serving.port();
    std::vector<std::thread> threads;
    for (int i = 0; i < kClients; ++i) threads.emplace_back([&run, i] { work(run, i); });
    threads.emplace_back([&run] { watch(run); });
    threads.emplace_back([&run] { takeIn(run); });
    waitForTheEnd(run);
    run.over = true;
    for (std::thread& thread : threads) thread.join();
    // Not 0 also where a sanitizer has something to report of it.
    if (const int status = serving.end(); status != 0)
      run.report.faults.push_back("the server ended with " + std::to_string(status));
  }
  judge(run);
  return std::move(run.report);
}

}  // namespace holdshelf::test
