// SPDX-License-Identifier: Apache-2.0
#include "catalog/service.h"

#include <set>

#include "catalog/api.h"
#include "catalog/find.h"
#include "catalog/freed_memory.h"
#include "catalog/judged_scan.h"
#include "catalog/search_row.h"
#include "catalog/stored_mesh.h"
#include "mesh/bad_input.h"
#include "mesh/measure_shape.h"
#include "mesh/png.h"
#include "mesh/shade.h"
#include "mesh/view_glb.h"
#include "mesh/view_mesh.h"

namespace holdshelf {
namespace {

HandModel handOf(const std::string& people) {
  if (people == "women") return handModel(People::Women, 50);
  if (people == "men") return handModel(People::Men, 50);
  if (people == "midway") return handModel(People::Midway, 50);
  throw BadInput("\"" + people.substr(0, 40) + "\" is no hand: use women, men or midway.");
}

/// Beyond so many, all rows are read anew.
constexpr std::int64_t kFewEvents = 5000;

constexpr std::ptrdiff_t kMostSlow = 8;  // Half of those who are answered at a time.

/// What search reads of the holds that have events after a number.
std::vector<SearchEntry> changedSince(const Library& library, std::int64_t after) {
  std::set<std::string> ids;
  library.store().forEachEvent([&](const EventRow& row) { ids.emplace(row.subject); }, after);
  std::vector<SearchEntry> entries;
  for (const std::string& id : ids)
    if (const auto body = library.store().holdBody(id)) {
      Hold hold;
      if (!hold.ParseFromString(*body))
        throw BadInput("The row of " + id + " is damaged: run holdshelf check --repair.");
      entries.push_back(searchEntry(hold));
      entries.back().row =
          unpackSearchRow(packSearchRow(hold));  // To the same steps as all others.
    }
  return entries;
}

std::string answerKey(const Library& library, const std::string& question) {
  const LibraryState state = stateOf(library);
  return std::to_string(state.making) + "\n" + std::to_string(state.event) + "\n" + question;
}

std::string changedJson(const LibraryState& state) {
  return "{\"lastEvent\":\"" + std::to_string(state.event) + "\"}";
}

/// The folder, once it is sure that there is a library in it.
const std::filesystem::path& withLibrary(const std::filesystem::path& folder) {
  (void)Library::open(folder);
  return folder;
}

}  // namespace

Service::Service(std::filesystem::path folder, const std::filesystem::path& program)
    : devices(withLibrary(folder)),
      folder_(std::move(folder)),
      slow_seats_(kMostSlow),
      desk_(std::make_unique<IntakeDesk>(folder_, program, [this](const IntakeMoved& moved) {
        events.publish("intake", compactJson(moved));
      })) {}

Service::~Service() = default;

std::shared_ptr<const SearchIndex> Service::searchIndex(const Library& seen) {
  LibraryState state = stateOf(seen);
  const std::lock_guard lock(index_mutex_);
  const bool made = index_ != nullptr;
  if (!made || state != index_state_) state = stateOf(seen);  // Others may have been first.
  if (made && state == index_state_) return index_;
  const auto follows = [&](const LibraryState& later) {
    return made && later.making == index_state_.making && later.event >= index_state_.event;
  };
  // Who sees the library as it was before is given what is known of it since; only one that was
  // made anew has gone back by itself.
  if (made && !follows(state) && follows(stateOf(library()))) return index_;
  if (follows(state) && state.event - index_state_.event < kFewEvents) {
    index_->put(changedSince(seen, index_state_.event));
  } else {
    index_ = std::make_shared<SearchIndex>(seen);
    returnFreedMemory();
  }
  index_state_ = state;
  return index_;
}

std::shared_ptr<const JudgedScan> Service::judged(const Library& library, const std::string& id,
                                                  const std::string& hand) {
  const HandModel model = handOf(hand);
  const Hold hold = library.hold(id);
  const std::string scan = hold.scans().empty() ? "" : hold.scans().rbegin()->id();
  const std::string making = std::to_string(stateOf(library).making);
  return judged_.get(id + "\n" + scan + "\n" + hand + "\n" + making, [&] {
    return std::make_shared<const JudgedScan>(library.currentFullScan(id), model);
  });
}

std::shared_ptr<const TriangleMesh> Service::mesh(const Library& library, const std::string& blob) {
  return meshes_.get(blob, [&] {
    return std::make_shared<const TriangleMesh>(storedMesh(library.blobs().get(blob), "hold.ply"));
  });
}

std::shared_ptr<const PreparedHold> Service::prepared(const Library& library,
                                                      const std::string& blob) {
  return prepared_.get(blob,
                       [&] { return std::make_shared<const PreparedHold>(*mesh(library, blob)); });
}

std::shared_ptr<const std::string> Service::viewOf(const Library& library, const std::string& blob,
                                                   std::size_t triangles) {
  return views_.get(blob + "\n" + std::to_string(triangles), [&] {
    return std::make_shared<const std::string>(
        viewGlb(simplifiedForView(*mesh(library, blob), triangles)));
  });
}

std::shared_ptr<const std::string> Service::pictureOf(const Library& library,
                                                      const std::string& blob) {
  return pictures_.get(blob, [&] {
    // Not by way of mesh(): a shelf of pictures would push out what is being looked at.
    const TriangleMesh mesh = storedMesh(library.blobs().get(blob), "hold.ply");
    const Eigen::Vector3d up = Eigen::Vector3d::UnitY();
    const auto png = encodePng(
        renderMesh(mesh, fitOrthographic(mesh, Eigen::Vector3d(0, -0.5, 0.87), up, 320, 240), up));
    return std::make_shared<const std::string>(png.begin(), png.end());
  });
}

std::shared_ptr<const std::string> Service::slowAnswer(const Library& library,
                                                       const std::string& question,
                                                       const std::function<std::string()>& work) {
  const std::string key = answerKey(library, question);
  if (auto known = answers_.made(key)) return known;
  const SlowSeat seat = takeSlowSeat();
  return answers_.get(key, [&] { return std::make_shared<const std::string>(work()); });
}

Service::SlowSeat Service::takeSlowSeat() {
  if (!slow_seats_.try_acquire())
    throw ApiError(503, "Several long answers are being worked out: ask again in a minute.");
  return SlowSeat(&slow_seats_);
}

Progress Service::untilTheEnd() const {
  return [this](const std::string&, double) { return !events.closed(); };
}

void Service::forgetAnswer(const Library& library, const std::string& question) {
  answers_.forget(answerKey(library, question));
}

void Service::announce() {
  const std::lock_guard lock(announce_mutex_);
  if (const auto state = stateNow()) {
    if (announced_ == state) return;
    events.publish("library", changedJson(*state));
    announced_ = state;
  } else {
    events.publish("library", "{}");
  }
}

void Service::announceBeside() {
  const auto state = stateNow();
  events.publish("library", state ? changedJson(*state) : "{}");
}

/// nullopt: the library is not to be asked now.
std::optional<LibraryState> Service::stateNow() const {
  try {
    return stateOf(library());
  } catch (const std::exception&) {
    return std::nullopt;
  }
}

}  // namespace holdshelf
