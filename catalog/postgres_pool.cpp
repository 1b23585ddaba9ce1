// SPDX-License-Identifier: Apache-2.0
#include "catalog/postgres_pool.h"

#include <algorithm>
#include <list>
#include <mutex>
#include <string>
#include <utility>

#include "catalog/library_place.h"

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

using postgres::Connection;

constexpr std::size_t kMostIdle = 16;

/// Connections of this process that nobody uses, each with its address, the one that was given back
/// last first.
struct Idle {
  std::mutex mutex;
  std::list<std::pair<std::string, std::unique_ptr<Connection>>> connections;
};

Idle& idle() {
  static Idle idle;
  return idle;
}

void giveBack(const std::string& address, std::unique_ptr<Connection> connection) {
  if (connection->isLost() || connection->inTransaction()) return;
  std::unique_ptr<Connection> too_many;  // Closed without the lock.
  const std::lock_guard lock(idle().mutex);
  auto& connections = idle().connections;
  connections.emplace_front(address, std::move(connection));
  if (connections.size() <= kMostIdle) return;
  too_many = std::move(connections.back().second);
  connections.pop_back();
}

}  // namespace

std::shared_ptr<Connection> borrowConnection(const fs::path& place) {
  const std::string address = databaseAddress(place);
  const auto owned = [&](std::unique_ptr<Connection> connection) {
    return std::shared_ptr<Connection>(connection.release(), [address](Connection* done) {
      giveBack(address, std::unique_ptr<Connection>(done));
    });
  };
  for (;;) {
    std::unique_ptr<Connection> connection;
    {
      const std::lock_guard lock(idle().mutex);
      const auto found = std::find_if(idle().connections.begin(), idle().connections.end(),
                                      [&](const auto& one) { return one.first == address; });
      if (found == idle().connections.end()) break;
      connection = std::move(found->second);
      idle().connections.erase(found);
    }
    try {
      // Notices an end meanwhile: the first look reads what a server says before it ends, the
      // second finds nobody behind it.
      for (int look = 0; look < 2; ++look)
        (void)connection->waitNotified(std::chrono::milliseconds(0));
      return owned(std::move(connection));
    } catch (const postgres::Error&) {
    }
  }
  return owned(std::make_unique<Connection>(address));
}

}  // namespace holdshelf
