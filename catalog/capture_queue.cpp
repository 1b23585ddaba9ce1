// SPDX-License-Identifier: Apache-2.0
#include "catalog/capture_queue.h"

#include <algorithm>

#include "catalog/library.h"
#include "catalog/postgres_store.h"

namespace holdshelf {
namespace {

using postgres::Rows;
using postgres::Values;

constexpr const char* kColumns =
    "id, state, site, "
    "to_char(queued_at AT TIME ZONE 'UTC', 'YYYY-MM-DD\"T\"HH24:MI:SS.MS\"Z\"'), "
    "to_char(ready_at AT TIME ZONE 'UTC', 'YYYY-MM-DD\"T\"HH24:MI:SS.MS\"Z\"'), "
    "tries, claim, worker, reason, hold, intake, store::int4";
constexpr std::chrono::milliseconds kLook{250};  // How soon a stop is noticed.
constexpr const char* kNotify = "SELECT pg_notify('holdshelf_capture', '')";
// Of the one transaction of a statement that returns it: it does not wait for the disk. A server
// that goes down right after may forget the claim, or that it was prolonged: then the capture is
// somebody else's, and whoever had it is refused, as after any lease that ran out.
constexpr const char* kNeedNotLast = "set_config('synchronous_commit', 'off', true)";

constexpr const char* kDamaged =
    "Its record in the queue is damaged: drop it, and queue its photos again.";

/// Without an intake where that is damaged: what else stands there leads to it, and the others are
/// to be worked on.
QueuedCapture captureOf(const Rows& rows, int row) {
  QueuedCapture capture;
  capture.set_id(rows.integer(row, 0));
  capture.set_state(static_cast<QueuedCapture::State>(rows.integer(row, 1)));
  capture.set_site(rows.text(row, 2));
  capture.set_queued_at(rows.text(row, 3));
  capture.set_ready_at(rows.text(row, 4));
  capture.set_tries(static_cast<int>(rows.integer(row, 5)));
  capture.set_claim(rows.integer(row, 6));
  capture.set_worker(rows.text(row, 7));
  capture.set_reason(rows.text(row, 8));
  capture.set_hold(rows.text(row, 9));
  const std::string_view intake = rows.bytes(row, 10);
  if (!capture.mutable_intake()->ParseFromArray(intake.data(), static_cast<int>(intake.size()))) {
    capture.clear_intake();
    capture.set_reason(kDamaged);
  }
  capture.set_store(rows.integer(row, 11) != 0);
  return capture;
}

/// $1 to $3 of a statement that counts only for the worker that has the claim.
Values claimed(const QueuedCapture& capture) {
  return Values().add(capture.id()).add(capture.claim()).add(capture.worker());
}
constexpr const char* kClaimed = " WHERE id = $1 AND claim = $2 AND worker = $3 AND state = 2 ";

std::string numbered(std::int64_t id) { return "capture " + std::to_string(id); }

}  // namespace

std::int64_t CaptureQueue::add(const Intake& intake, const std::string& site, bool store) {
  const Rows added = connection_->run(
      "WITH added AS (INSERT INTO capture(state, site, store, intake) VALUES(1, $1, $2 = 1, $3) "
      "RETURNING id) SELECT id, pg_notify('holdshelf_capture', '')::text FROM added",
      Values().add(site).add(store ? 1 : 0).addBytes(intake.SerializeAsString()));
  return added.integer(0, 0);
}

std::optional<QueuedCapture> CaptureQueue::claim(const std::string& worker) {
  const auto setAsideIfOurs = [&](const QueuedCapture& capture, const std::string& reason) {
    try {
      setAside(capture, reason);
    } catch (const ClaimLost&) {  // Somebody has dropped it meanwhile: there are others to take.
    }
  };
  for (;;) {
    // The end of a lease and of a pause are one column: from then on anybody may take it.
    const Rows taken = connection_->run(
        std::string("UPDATE capture SET state = 2, worker = $1, claim = claim + 1, "
                    "tries = tries + 1, ready_at = now() + $2 * interval '1 ms' WHERE id = ("
                    "SELECT id FROM capture WHERE state IN (1, 2) AND ready_at <= now() "
                    "ORDER BY ready_at, id LIMIT 1 FOR UPDATE SKIP LOCKED) RETURNING ") +
            kColumns + ", " + kNeedNotLast,
        Values().add(worker).add(static_cast<double>(rules_.lease.count())));
    if (taken.empty()) return std::nullopt;
    QueuedCapture capture = captureOf(taken, 0);
    if (!capture.has_intake()) {
      setAsideIfOurs(capture, kDamaged);
      continue;
    }
    if (capture.tries() <= rules_.most_tries) return capture;
    setAsideIfOurs(capture,
                   "It was begun " + std::to_string(rules_.most_tries) +
                       " times, and each time the worker ended, hung or was cut off" +
                       (capture.reason().empty() ? "." : "; at last: " + capture.reason()));
  }
}

bool CaptureQueue::renew(const QueuedCapture& capture) {
  return !connection_
              ->run(std::string("UPDATE capture SET ready_at = now() + $4 * interval '1 ms'") +
                        kClaimed + "RETURNING " + kNeedNotLast,
                    claimed(capture).add(static_cast<double>(rules_.lease.count())))
              .empty();
}

void CaptureQueue::endClaim(const QueuedCapture& capture, const char* what, const Values& values) {
  const Rows ended =
      connection_->run(std::string("WITH ended AS (UPDATE capture SET ") + what + kClaimed +
                           "RETURNING id) SELECT pg_notify('holdshelf_capture', "
                           "'')::text FROM ended",
                       values);
  if (ended.empty())
    throw ClaimLost("Another worker has taken " + numbered(capture.id()) + " since.");
}

void CaptureQueue::finishWithin(const QueuedCapture& capture, const std::string& hold) {
  endClaim(capture, "state = 3, reason = '', hold = $4", claimed(capture).add(hold));
}

void CaptureQueue::finish(const QueuedCapture& capture, const RebuiltCapture& result) {
  endClaim(capture, "state = 3, reason = '', result = $4",
           claimed(capture).addBytes(result.SerializeAsString()));
}

void CaptureQueue::failed(const QueuedCapture& capture, const std::string& reason) {
  if (capture.tries() >= rules_.most_tries)
    return setAside(capture, "It failed " + std::to_string(capture.tries()) + " times: " + reason);
  double pause_ms = static_cast<double>(rules_.back_off.count());
  for (int i = 1; i < capture.tries(); ++i) pause_ms *= 3;
  endClaim(capture, "state = 1, reason = $4, ready_at = now() + $5 * interval '1 ms'",
           claimed(capture).add(reason).add(std::min(pause_ms, 3'600'000.0)));
}

void CaptureQueue::putBack(const QueuedCapture& capture) {
  endClaim(capture, "state = 1, tries = greatest(tries - 1, 0), ready_at = now()",
           claimed(capture));
}

void CaptureQueue::setAside(const QueuedCapture& capture, const std::string& reason) {
  endClaim(capture, "state = 4, reason = $4", claimed(capture).add(reason));
}

void CaptureQueue::retry(std::int64_t id) {
  if (connection_
          ->run("UPDATE capture SET state = 1, tries = 0, ready_at = now() WHERE id = $1 AND "
                "state = 4",
                Values().add(id))
          .touched() != 1)
    throw BadInput("No " + numbered(id) + " was set aside: holdshelf queue lists those that were.");
  connection_->run(kNotify);
}

void CaptureQueue::drop(std::int64_t id) {
  // Kept as a row, so that its number tells whoever asks later what became of it.
  if (connection_
          ->run("UPDATE capture SET state = 4, claim = claim + 1, reason = 'It was dropped.' "
                "WHERE id = $1 AND state <> 3",
                Values().add(id))
          .touched() != 1)
    throw BadInput("There is no " + numbered(id) +
                   " that could be dropped: holdshelf queue lists "
                   "those that wait.");
  connection_->run(kNotify);
}

std::optional<QueuedCapture> CaptureQueue::get(std::int64_t id) {
  const Rows found = connection_->run(
      std::string("SELECT ") + kColumns + " FROM capture WHERE id = $1", Values().add(id));
  if (found.empty()) return std::nullopt;
  return captureOf(found, 0);
}

RebuiltCapture CaptureQueue::result(std::int64_t id) {
  const Rows found =
      connection_->run("SELECT result FROM capture WHERE id = $1 AND state = 3", Values().add(id));
  RebuiltCapture result;
  if (found.empty() || !result.ParseFromString(found.text(0, 0)))
    throw BadInput("There is no result of " + numbered(id) + ".");
  return result;
}

QueueList CaptureQueue::list(bool all) {
  const Rows found = connection_->run(
      std::string("SELECT ") + kColumns + " FROM capture WHERE state <> 3 OR $1 = 1 ORDER BY id",
      Values().add(all ? 1 : 0));
  QueueList list;
  for (int row = 0; row < found.size(); ++row) {
    QueuedCapture& capture = *list.add_captures() = captureOf(found, row);
    capture.mutable_intake()->clear_photos();
    capture.mutable_intake()->clear_mat();
  }
  return list;
}

std::int64_t CaptureQueue::open() {
  return connection_->run("SELECT count(*) FROM capture WHERE state IN (1, 2)").integer(0, 0);
}

void CaptureQueue::listen() {
  if (!listening_) connection_->execute("LISTEN holdshelf_capture");
  listening_ = true;
}

void CaptureQueue::wait(std::chrono::milliseconds longest, const std::function<bool()>& stop) {
  listen();  // Before the look: what comes in between is not missed.
  const Rows next = connection_->run(
      "SELECT extract(epoch FROM min(ready_at) - now())::float8 * 1000 FROM capture WHERE state IN "
      "(1, 2)");
  if (!next.isNull(0, 0)) {
    const double until_ready_ms = std::max(1.0, next.real(0, 0));
    if (until_ready_ms < static_cast<double>(longest.count()))
      longest = std::chrono::milliseconds(static_cast<std::int64_t>(until_ready_ms) + 1);
  }
  waitForNews(longest, stop);
}

void CaptureQueue::waitForNews(std::chrono::milliseconds longest,
                               const std::function<bool()>& stop) {
  listen();
  const auto until = std::chrono::steady_clock::now() + longest;
  for (;;) {
    const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(
        until - std::chrono::steady_clock::now());
    if (left.count() <= 0 || (stop && stop())) return;
    if (connection_->waitNotified(std::min(left, kLook))) return;
  }
}

CaptureQueue queueOf(const Library& library, QueueRules rules) {
  const auto* shared = dynamic_cast<const PostgresStore*>(&library.store());
  if (shared == nullptr)
    throw BadInput(
        "The library " + library.folder().string() +
        " is a folder and has no queue: holdshelf intake rebuilds at once, and holdshelf "
        "transfer brings the library into a database that several machines share.");
  return CaptureQueue(shared->connection(), rules);
}

}  // namespace holdshelf
