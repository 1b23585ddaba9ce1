// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <semaphore>
#include <string>
#include <vector>

#include "catalog/devices.h"
#include "catalog/intake_desk.h"
#include "catalog/library.h"
#include "catalog/library_state.h"
#include "catalog/live_events.h"
#include "catalog/recent_values.h"
#include "catalog/try_limit.h"
#include "mesh/progress.h"

namespace holdshelf {

class SearchIndex;
struct JudgedScan;  // catalog/judged_scan.h
class PreparedHold;
struct TriangleMesh;

/// What the server keeps in memory of a library between two requests. Everything can be asked from
/// several threads at once, and other processes may change the library meanwhile.
class Service {
 public:
  /// @throws BadInput  There is no library in the folder.
  /// @param program  This program, to work on photos in processes of its own.
  explicit Service(std::filesystem::path folder,
                   const std::filesystem::path& program = "/proc/self/exe");
  ~Service();

  const std::filesystem::path& folder() const { return folder_; }
  /// The library, opened anew: a Library serves one thread.
  Library library() const { return Library::open(folder_); }

  /// The search index as of the library's last event: of the holds that changed since it was asked
  /// for last only those are read, of a library that a repair has made anew all. Never older than
  /// what was given before.
  std::shared_ptr<const SearchIndex> searchIndex(const Library& library);
  /// The last scan, judged for a hand: "women", "men" or "midway".
  std::shared_ptr<const JudgedScan> judged(const Library& library, const std::string& id,
                                           const std::string& hand);
  /// The mesh of a blob, as stored.
  std::shared_ptr<const TriangleMesh> mesh(const Library& library, const std::string& blob);
  /// The same mesh made ready to be measured at any place.
  std::shared_ptr<const PreparedHold> prepared(const Library& library, const std::string& blob);
  /// The same mesh as a GLB for screens with about so many triangles.
  std::shared_ptr<const std::string> viewOf(const Library& library, const std::string& blob,
                                            std::size_t triangles);
  /// A small picture of the mesh (PNG) from where a thumbnail of photos is taken.
  std::shared_ptr<const std::string> pictureOf(const Library& library, const std::string& blob);
  /// An answer that takes long and holds until the library changes. Those who wait for such answers
  /// hold threads that others need, so few may.
  /// @throws ApiError  503: as many wait as may.
  std::shared_ptr<const std::string> slowAnswer(const Library& library, const std::string& question,
                                                const std::function<std::string()>& work);
  struct Leave {
    void operator()(std::counting_semaphore<>* seats) const { seats->release(); }
  };
  /// Of those who wait for such answers, one's own for as long as it lives.
  using SlowSeat = std::unique_ptr<std::counting_semaphore<>, Leave>;
  /// @throws ApiError  503: as many wait as may.
  SlowSeat takeSlowSeat();
  /// Such an answer does not hold any longer.
  void forgetAnswer(const Library& library, const std::string& question);

  /// For work on such an answer: on, until the server ends.
  Progress untilTheEnd() const;

  /// Holds on their way in.
  IntakeDesk& desk() { return *desk_; }

  /// Tells all who listen that the library changed or was made anew: of each change once, though
  /// both the route that made it and the watch on the library notice it. Where the library is not
  /// to be asked by now, they are told without its number: what was stored is no error for that.
  void announce();
  /// The same of what is kept beside the library's events.
  void announceBeside();

  LiveEvents events;
  Devices devices;
  TryLimit pairing_tries{5, 20, 600};
  bool open_to_network = false;
  std::vector<std::string> addresses;  ///< Of the page, for phones; the likeliest first.
  /// What printed codes can lead to: by this machine's name, which stays, then by address.
  std::vector<std::string> label_addresses;

 private:
  std::optional<LibraryState> stateNow() const;

  std::filesystem::path folder_;
  std::mutex index_mutex_;
  LibraryState index_state_;
  std::shared_ptr<SearchIndex> index_;
  RecentValues<JudgedScan> judged_{64};
  RecentValues<TriangleMesh> meshes_{6};
  RecentValues<PreparedHold> prepared_{6};
  RecentValues<std::string> pictures_{2000};
  RecentValues<std::string> views_{200, 96 << 20};
  RecentValues<std::string> answers_{100};
  std::counting_semaphore<> slow_seats_;
  std::mutex announce_mutex_;
  std::optional<LibraryState> announced_;
  std::unique_ptr<IntakeDesk> desk_;  // Last: its threads use what is above.
};

}  // namespace holdshelf
