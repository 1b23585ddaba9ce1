// SPDX-License-Identifier: Apache-2.0
// Works on a library until it is killed: crash_worker WORK LIBRARY SEED. After each commit it says
// "ack NUMBER DIGEST" for every event that is now stored, in one write.
#include <unistd.h>

#include <cstdio>
#include <cstdlib>
#include <exception>
#include <functional>
#include <map>
#include <random>
#include <string>

#include "catalog/climbs.h"
#include "catalog/gym.h"
#include "catalog/intake.h"
#include "catalog/library_backup.h"
#include "catalog/library_merge.h"
#include "mesh/bad_input.h"

namespace {

using namespace holdshelf;
namespace fs = std::filesystem;

struct Worker {
  fs::path folder;
  std::mt19937_64 random;
  std::int64_t acknowledged = 0;

  int pick(int n) { return static_cast<int>(random() % static_cast<unsigned>(n)); }

  std::string bytes(std::size_t size) {
    std::string text(size, '\0');
    for (char& c : text) c = static_cast<char>(random());
    return text;
  }

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
    if (text.empty()) return;
    if (::write(STDOUT_FILENO, text.data(), text.size()) < 0) std::_Exit(3);
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

void intake(Worker& w, Library& library) {
  IntakeLabels labels;
  labels.name = "hold";
  labels.bin = "A" + std::to_string(w.pick(5));
  labels.count = w.pick(3) == 0 ? 6 : 1;
  IntakeChoice choice;
  if (library.size() > 0 && w.pick(4) == 0) {  // A new scan of one that is there, as for wear.
    char id[16];
    std::snprintf(id, sizeof id, "H-%04d", 1 + w.pick(static_cast<int>(library.size() % 9000)));
    if (library.has(id)) choice = {IntakeChoice::Kind::NewScan, id};
  }
  storeScan(library, someScan(w), labels, choice);
}

void describeWalls(Library& library) {
  Gym gym;
  WallPanel& p = panelToEdit(zoneToEdit(gym, "cave"), "roof");
  p.set_wall_angle_deg(35);
  p.mutable_fixing()->set_thread(M10);
  p.mutable_fixing()->set_panel_mm(18);
  p.mutable_fixing()->set_barrel_mm(11);
  p.set_columns(20);
  p.set_rows(20);
  p.set_pitch_mm(200);
  describeGym(library, gym);
}

void editCrates(Worker& w, Library& library) {
  if (gymOf(library).zones().empty()) describeWalls(library);
  if (library.size() < 12) return intake(w, library);
  const ClimbList climbs = listClimbs(library, false);
  if (climbs.climbs_size() < 2) {
    Climb wanted;
    wanted.set_name("climb");
    wanted.set_zone("cave");
    (void)startClimb(library, wanted);
    return;
  }
  const Climb& climb = climbs.climbs(w.pick(climbs.climbs_size()));
  char id[16];
  std::snprintf(id, sizeof id, "H-%04d", 1 + w.pick(static_cast<int>(library.size() % 9000)));
  Placement place;
  place.set_column(1 + w.pick(20));
  place.set_row(1 + w.pick(20));
  switch (w.pick(12)) {
    case 0:
      (void)dropHolds(library, climb.id(), {id});
      break;
    case 1:
      if (w.pick(5) == 0) (void)stripClimb(library, climb.id(), "shelf");
      break;
    case 2:
      (void)noteClimb(library, climb.id(), "", "seen");
      break;
    case 3:
    case 4:
    case 5:
      (void)addPieces(library, climb.id(), {id}, 2);
      break;
    case 6:
    case 7:
      (void)addHolds(library, climb.id(), {id});
      break;
    default:
      for (const ClimbHold& held : climb.holds())
        if (held.gone().empty() && !held.has_placement()) {
          (void)placePiece(library, climb.id(), held.hold(), place);
          break;
        }
  }
}

void mergeIn(Worker& w, Library& library) {
  const fs::path other = w.folder.string() + "-other";
  fs::remove_all(other);
  Library theirs = Library::openOrCreate(other);
  for (int i = 0; i < 4; ++i) intake(w, theirs);
  (void)mergeInto(library, mergeSourceOf(theirs), false, {});
}

void backUp(Worker& w, Library& library) {
  intake(w, library);
  w.acknowledge(library);
  (void)backupLibrary(library, w.folder.string() + "-backup", {});
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 4) return 2;
  const std::map<std::string, void (*)(Worker&, Library&)> works = {
      {"intake", intake}, {"crates", editCrates}, {"merge", mergeIn}, {"backup", backUp}};
  const auto work = works.find(argv[1]);
  if (work == works.end()) return 2;
  Worker w{argv[2], std::mt19937_64(std::strtoull(argv[3], nullptr, 10)), 0};
  try {
    Library library = Library::openOrCreate(w.folder);
    w.acknowledged = library.lastEvent();
    if (::write(STDOUT_FILENO, "ready\n", 6) < 0) return 3;
    for (;;) {
      try {
        work->second(w, library);
      } catch (const holdshelf::BadInput&) {  // A hold that is elsewhere, a T-nut that is taken.
      }
      w.acknowledge(library);
    }
  } catch (const std::exception& failure) {
    std::fprintf(stderr, "%s\n", failure.what());
    return 1;
  }
}
