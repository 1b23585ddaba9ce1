// SPDX-License-Identifier: Apache-2.0
// Works on a library until it is killed: crash_worker WORK LIBRARY SEED. It says, a line each:
//   ready
//     The library is open.
//   at PHASE
//     What it does from now on (phasesOf in crash_harness.cpp).
//   stored TEXT
//     A call returned, or a request was answered with 200, that stores a text which nothing else
//     has; before anything is read again.
//   piece INTAKE PHOTO BYTES SHA256
//     The server said that it has so much of a photo: of these bytes.
//   ack NUMBER SHA256
//     An event that is seen to be stored.
//   backed-up NUMBER
//     All up to this event, and all that was said before, is in the backup.
//   fault SENTENCE
//     What should have been done was refused.
#include <unistd.h>

#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <exception>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <random>
#include <stdexcept>
#include <string>
#include <thread>

#include "catalog/climbs.h"
#include "catalog/console.h"
#include "catalog/gym.h"
#include "catalog/intake.h"
#include "catalog/library_backup.h"
#include "catalog/library_merge.h"
#include "catalog/server.h"
#include "catalog/wear.h"
#include "mesh/bad_input.h"
#include "mesh/mesh_io.h"
#include "proto/intake.pb.h"
#include "tests/catalog/climb_night.h"
#include "tests/reliability/durability/http_client.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

namespace {

using namespace holdshelf;
namespace fs = std::filesystem;

/// The server under attack: in this process, so that one signal kills it at any moment.
struct Serving {
  Server server;
  std::thread thread;
  std::string intake;  ///< Which photos are sent to.

  explicit Serving(const ServeOptions& options) : server(options) {
    thread = std::thread([this] { server.run([] { return true; }); });
  }
};

struct Worker {
  fs::path folder;
  std::mt19937_64 random;
  std::string seed;
  std::int64_t acknowledged = 0;
  int texts = 0;  ///< That it has made.
  std::unique_ptr<Serving> serving = {};
  std::optional<FinishedScan> first = {}, later = {};  ///< Of the work "wear".

  int pick(int n) { return static_cast<int>(random() % static_cast<unsigned>(n)); }

  std::string bytes(std::size_t size) {
    std::string text(size, '\0');
    for (char& c : text) c = static_cast<char>(random());
    return text;
  }

  /// What nothing else in the library has.
  std::string text(const std::string& kind) {
    return kind + "-" + seed + "-" + std::to_string(++texts) + ".";
  }

  void at(const std::string& phase) const { say("at " + phase + "\n"); }
  void stored(const std::string& text) const { say("stored " + text + "\n"); }

  /// Says what is stored by now. Only this process writes, so that all of it was committed by it.
  void acknowledge(const Library& library) {
    std::string text;
    sqlite::Statement event(library.database(),
                            "SELECT number, body FROM event WHERE number > ? ORDER BY number");
    event.bind(1, acknowledged);
    while (event.step()) {
      acknowledged = event.integer(0);
      text += "ack " + std::to_string(acknowledged) + " " + sha256Hex(event.blob(1)) + "\n";
    }
    say(text);
  }

  /// In one write.
  void say(const std::string& text) const {
    if (!text.empty() && ::write(STDOUT_FILENO, text.data(), text.size()) < 0) std::_Exit(3);
  }
};

FinishedScan someScan(Worker& w) {
  FinishedScan finished;
  finished.scan.mutable_shape()->mutable_protrusion_mm()->set_value(20 + w.pick(60));
  for (int i = 0; i < 20; ++i)
    finished.scan.mutable_shape()->add_sections()->set_rotation_deg(5 * i);
  finished.mesh_ply = w.bytes(2000 + static_cast<std::size_t>(w.pick(60000)));
  finished.mesh_glb = w.bytes(1000);
  finished.thumbnail_png = w.bytes(500);
  finished.contact_sheet_png = w.bytes(4000);
  return finished;
}

/// Takes a hold in. @return  A text that is in the library now.
std::string takeIn(Worker& w, Library& library) {
  IntakeLabels labels;
  labels.name = w.text("hold");
  labels.bin = "A" + std::to_string(w.pick(5));
  labels.count = w.pick(3) == 0 ? 6 : 1;
  IntakeChoice choice;
  if (library.size() > 0 && w.pick(4) == 0) {  // A new scan of one that is there, as for wear.
    char id[16];
    std::snprintf(id, sizeof id, "H-%04d", 1 + w.pick(static_cast<int>(library.size() % 9000)));
    if (library.has(id)) choice = {IntakeChoice::Kind::NewScan, id};
  }
  const Hold hold = storeScan(library, someScan(w), labels, choice);
  return choice.of.empty() ? labels.name : hold.scans().rbegin()->mesh_blob();
}

void intake(Worker& w, Library& library) {
  w.at("storing");
  w.stored(takeIn(w, library));
}

/// Only what a person may be refused: a hold that is elsewhere, a T-nut that is taken.
void ifFree(const std::function<void()>& change) {
  try {
    change();
  } catch (const BadInput&) {
  }
}

void editCrates(Worker& w, Library& library) {
  if (gymOf(library).zones().empty()) describeGym(library, test::caveGym(20, 20));
  if (library.size() < 12) return intake(w, library);
  const ClimbList climbs = listClimbs(library, false);
  w.at("editing");
  if (climbs.climbs_size() < 2) {
    Climb wanted;
    wanted.set_name(w.text("climb"));
    wanted.set_zone("cave");
    (void)startClimb(library, wanted);
    w.stored(wanted.name());
    return;
  }
  const Climb& climb = climbs.climbs(w.pick(climbs.climbs_size()));
  char id[16];
  std::snprintf(id, sizeof id, "H-%04d", 1 + w.pick(static_cast<int>(library.size() % 9000)));
  Placement place;
  place.set_column(1 + w.pick(20));
  place.set_row(1 + w.pick(20));
  const std::string seen = w.text("seen");
  switch (w.pick(14)) {
    case 0:
      ifFree([&] { (void)dropHolds(library, climb.id(), {id}); });
      break;
    case 1:
      if (w.pick(5) == 0) ifFree([&] { (void)stripClimb(library, climb.id(), "shelf"); });
      break;
    case 2:
    case 3:
    case 4:
      (void)noteClimb(library, climb.id(), "", seen);
      w.stored(seen);
      break;
    case 5:
    case 6:
    case 7:
      ifFree([&] { (void)addPieces(library, climb.id(), {id}, 2); });
      break;
    case 8:
    case 9:
      ifFree([&] { (void)addHolds(library, climb.id(), {id}); });
      break;
    default:
      for (const ClimbHold& held : climb.holds())
        if (held.gone().empty() && !held.has_placement()) {
          ifFree([&] { (void)placePiece(library, climb.id(), held.hold(), place); });
          break;
        }
  }
}

/// Says each stage of a long work when it begins, and when its last step does: what follows that,
/// no stage tells of.
class Stages {
 public:
  Stages(const Worker& worker, std::map<std::string, std::string> names)
      : worker_(worker), names_(std::move(names)) {}

  bool operator()(const std::string& stage, double done) {
    if (stage != stage_) stage_ = stage, steps_ = 0, say(stage);
    if (steps_ == 0 && done > 0) steps_ = std::lround(1 / done);
    if (steps_ > 0 && std::lround(done * double(steps_)) == steps_ - 1) say(stage + ", the last");
    return true;
  }

 private:
  void say(const std::string& stage) const {
    if (const auto name = names_.find(stage); name != names_.end()) worker_.at(name->second);
  }

  const Worker& worker_;
  std::map<std::string, std::string> names_;  ///< Phases by stages.
  std::string stage_;
  long steps_ = 0;
};

void mergeIn(Worker& w, Library& library) {
  w.at("making-another");
  const fs::path other = w.folder.string() + "-other";
  fs::remove_all(other);
  Library theirs = Library::openOrCreate(other);
  std::vector<std::string> texts;
  for (int i = 0; i < 4; ++i) texts.push_back(takeIn(w, theirs));
  w.at("planning");
  (void)mergeInto(
      library, mergeSourceOf(theirs), false,
      Stages(w, {{"copying files", "copying"}, {"copying files, the last", "committing"}}));
  for (const std::string& text : texts) w.stored(text);
}

void backUp(Worker& w, Library& library) {
  intake(w, library);
  w.acknowledge(library);
  w.at("snapshot");
  (void)backupLibrary(library, w.folder.string() + "-backup",
                      Stages(w, {{"copying files", "copying"},
                                 {"taking its place", "swapping"},
                                 {"checking files", "verifying"}}));
  w.say("backed-up " + std::to_string(w.acknowledged) + "\n");
}

/// A dome with its top worn off by so much, measured.
FinishedScan measuredDome(double height_mm) {
  const ExactHold dome = domeHold(30, height_mm);
  return finishMesh(meshSdf(dome.solid, dome.box_mm, 6), {});
}

/// A new scan of a hold that is there, and what has changed since the first one.
void wear(Worker& w, Library& library) {
  if (!w.first) w.first = measuredDome(20), w.later = measuredDome(19);
  IntakeLabels labels;
  labels.name = w.text("dome");
  w.at("storing");
  std::string dome;
  library.forEachHold([&](std::int64_t, const Hold& hold) {
    if (hold.name().starts_with("dome-")) dome = hold.id();
  });
  if (dome.empty()) {
    storeScan(library, *w.first, labels, {});
    w.stored(labels.name);
    return;
  }
  FinishedScan later = *w.later;
  later.contact_sheet_png = w.bytes(4000);  // What tells one scan of the same mesh from the next.
  const Hold hold = storeScan(library, later, labels, {IntakeChoice::Kind::NewScan, dome});
  w.stored(hold.scans().rbegin()->contact_sheet_blob());
  w.acknowledge(library);
  w.at("comparing");
  if (w.pick(3) == 0) (void)wearOf(library, dome, {}, {});
}

/// A library as version 1 left it is brought up to date: its rows are made anew.
void migrate(Worker& w, Library& library) {
  while (library.size() < 30) intake(w, library);
  w.acknowledge(library);
  {
    sqlite::Database database(w.folder / "holdshelf.sqlite", sqlite::Database::Access::ReadWrite);
    database.execute(
        "BEGIN IMMEDIATE; ALTER TABLE hold DROP COLUMN site; PRAGMA user_version = 1; COMMIT");
  }
  w.at("migrating");
  Library migrated = Library::open(w.folder);
  intake(w, migrated);
}

/// The answer to what has to be done. @throws std::runtime_error  It was not.
std::string asked(const Worker& w, const std::string& method, const std::string& path,
                  const std::string& body) {
  const test::HttpAnswer answer =
      test::askServer(w.serving->server.port(), method, "/api/v1/" + path, body);
  if (answer.status != 200)
    throw std::runtime_error(method + " " + path + " was answered with " +
                             std::to_string(answer.status) + " " + answer.body);
  return answer.body;
}

/// The same of what may be refused, because somebody else has the hold, or it is not in the climb.
void askedIfFree(const Worker& w, const std::string& path, const std::string& body) {
  const test::HttpAnswer answer =
      test::askServer(w.serving->server.port(), "POST", "/api/v1/" + path, body);
  if (answer.status != 200 && answer.status != 400 && answer.status != 404 && answer.status != 409)
    throw std::runtime_error(path + " was answered with " + std::to_string(answer.status) + " " +
                             answer.body);
}

/// Sends a photo in three pieces and says after each how much the server has.
void sendPhoto(Worker& w) {
  if (w.serving->intake.empty() || w.pick(20) == 0) {
    Intake opened;
    fromJson(asked(w, "POST", "intakes", R"({"paper":"A4","quality":"draft"})"), "The intake",
             opened);
    w.serving->intake = opened.id();
  }
  const std::string bytes = "\xff\xd8\xff" + w.bytes(3000), sha256 = sha256Hex(bytes);
  const std::string photos = "intakes/" + w.serving->intake + "/photos";
  asked(w, "POST", photos,
        R"({"sha256":")" + sha256 + R"(","name":"a.jpg","size":)" + std::to_string(bytes.size()) +
            "}");
  for (std::size_t at = 0; at < bytes.size(); at += 1001) {
    w.at("sending");
    const std::string json = asked(
        w, "PUT", photos + "/" + sha256 + "?offset=" + std::to_string(at), bytes.substr(at, 1001));
    IntakePhoto photo;
    fromJson(json, "The photo", photo);
    w.say("piece " + w.serving->intake + " " + sha256 + " " + std::to_string(photo.received()) +
          " " + sha256Hex(bytes.substr(0, static_cast<std::size_t>(photo.received()))) + "\n");
  }
}

void serve(Worker& w, Library& library) {
  if (library.size() < 6) return intake(w, library);
  if (!w.serving) {
    const fs::path web = w.folder.string() + "-web";
    fs::create_directories(web);
    writeFileDurably(web / "index.html", "<!doctype html><title>Shelf</title>");
    ServeOptions options;
    options.library = w.folder;
    options.web = web;
    options.port = 0;
    w.serving = std::make_unique<Serving>(options);
    if (gymOf(library).zones().empty()) describeGym(library, test::caveGym(20, 20));
  }
  const std::string id = "H-000" + std::to_string(1 + w.pick(6));
  const std::string text = w.text("asked");
  w.at("asking");
  switch (w.pick(6)) {
    case 0:
      asked(w, "POST", "holds/" + id + "/edit", R"({"fields":["bin"],"bin":")" + text + "\"}");
      w.stored(text);
      break;
    case 1:
      asked(w, "POST", "holds/" + id + "/note", R"({"text":")" + text + "\"}");
      w.stored(text);
      break;
    case 2:
      asked(w, "POST", "climbs", R"({"zone":"cave","name":")" + text + "\"}");
      w.stored(text);
      break;
    case 3:
      askedIfFree(w, "climbs/C-0001/change", R"({"added":{"hold":")" + id + "\"}}");
      break;
    case 4:
      askedIfFree(w, "climbs/C-0001/change", R"({"dropped":")" + id + "\"}");
      break;
    default:
      sendPhoto(w);
  }
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 4) return 2;
  const std::map<std::string, void (*)(Worker&, Library&)> works = {
      {"intake", intake}, {"crates", editCrates}, {"merge", mergeIn}, {"backup", backUp},
      {"wear", wear},     {"migrate", migrate},   {"serve", serve}};
  const auto work = works.find(argv[1]);
  if (work == works.end()) return 2;
  Worker w{argv[2], std::mt19937_64(std::strtoull(argv[3], nullptr, 10)), argv[3]};
  try {
    Library library = Library::openOrCreate(w.folder);
    w.acknowledged = library.lastEvent();
    w.say("ready\n");
    for (;;) {
      work->second(w, library);
      w.acknowledge(library);
    }
  } catch (const std::exception& failure) {
    w.say("fault " + std::string(failure.what()) + "\n");
    std::_Exit(1);  // At once: a server of this process may be at work.
  }
}
