// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <chrono>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <stdexcept>
#include <string>

#include "catalog/postgres.h"
#include "proto/queue.pb.h"

namespace holdshelf {

class Library;

/// How long a capture is a worker's, and how often it is tried.
struct QueueRules {
  std::chrono::milliseconds lease{60'000};  ///< Since the last sign of life.
  std::chrono::milliseconds back_off{
      10'000};         ///< After the first failure; then three times as long.
  int most_tries = 5;  ///< Then it is set aside.
};

/// Somebody else has the capture by now: what was worked out is not wanted any more.
class ClaimLost : public std::runtime_error {
  using std::runtime_error::runtime_error;
};

/// Captures that wait to be rebuilt, in the database of a shared library. Any number of workers on
/// any number of machines take them, each one at a time: a row that one is taking is passed over by
/// the others (FOR UPDATE SKIP LOCKED). A claim is a lease with a number. A worker that dies, hangs
/// or is cut off lets it run out and the next one takes the capture with a higher number; whatever
/// the first one brings then is refused, in the transaction that would have stored it. All times
/// are the database's. Serves one thread. StoreError where the database fails.
class CaptureQueue {
 public:
  explicit CaptureQueue(std::shared_ptr<postgres::Connection> connection, QueueRules rules = {})
      : connection_(std::move(connection)), rules_(rules) {}

  /// Queues an intake: its photos are among the library's blobs already. Tells the workers.
  /// @param store  What comes out becomes a hold at once; else somebody waits for the result.
  std::int64_t add(const Intake& intake, const std::string& site, bool store);

  /// Takes the capture that has been ready longest; nullopt: none is. Sets aside those that brought
  /// down their workers too often, and those whose intake is damaged.
  std::optional<QueuedCapture> claim(const std::string& worker);
  /// Prolongs the lease. false: the claim is lost.
  bool renew(const QueuedCapture& capture);

  /// Says inside a commit that the capture became this hold. On the connection of that commit.
  /// @throws ClaimLost
  void finishWithin(const QueuedCapture& capture, const std::string& hold);
  /// Leaves the result for whoever waits. @throws ClaimLost
  void finish(const QueuedCapture& capture, const RebuiltCapture& result);
  /// It failed through no fault of its own: tried again later, set aside after the last try.
  void failed(const QueuedCapture& capture, const std::string& reason);
  /// The worker was stopped before it was done: ready now, as if this try had not been.
  void putBack(const QueuedCapture& capture);
  /// It fails for ever: set aside at once.
  void setAside(const QueuedCapture& capture, const std::string& reason);

  /// Puts one that was set aside back. @throws BadInput  There is none.
  void retry(std::int64_t id);
  /// Takes one that is not done out. @throws BadInput  There is none.
  void drop(std::int64_t id);

  std::optional<QueuedCapture> get(std::int64_t id);
  RebuiltCapture result(std::int64_t id);
  /// Those that are not done, with `all` those too; without photos. The reason of one whose intake
  /// is damaged says so.
  QueueList list(bool all);
  /// Captures that are waiting or being worked on.
  std::int64_t open();

  /// Waits until something is queued or done, a lease or pause ends, the time is over, or `stop`,
  /// asked several times a second, says so.
  void wait(std::chrono::milliseconds longest, const std::function<bool()>& stop = {});
  /// The same for one who takes no captures: whatever is ready by now is no news.
  void waitForNews(std::chrono::milliseconds longest, const std::function<bool()>& stop = {});

 private:
  void listen();
  void endClaim(const QueuedCapture& capture, const char* what, const postgres::Values& values);

  std::shared_ptr<postgres::Connection> connection_;
  QueueRules rules_;
  bool listening_ = false;
};

/// The queue of a library, on its own connection. @throws BadInput  The library is in a folder.
CaptureQueue queueOf(const Library& library, QueueRules rules = {});

}  // namespace holdshelf
