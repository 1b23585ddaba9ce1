// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <fstream>
#include <string>

#include "catalog/postgres_pool.h"
#include "catalog/queued_rebuild.h"
#include "tests/catalog/temp_folder.h"

namespace holdshelf::test {

/// What so many seconds of the database's clock do to the queue.
inline void passTime(const std::string& address, int seconds) {
  borrowConnection(address)->run("UPDATE capture SET ready_at = ready_at - $1 * interval '1 s'",
                                 postgres::Values().add(static_cast<double>(seconds)));
}

/// Queues a capture whose one photo tells the stand-in for the rebuild what to do.
inline std::int64_t queueOne(Library& library, const TempFolder& folder, const std::string& name,
                             const std::string& photo, bool store = true) {
  std::ofstream(folder / "photo") << photo;
  Intake intake;
  intake.set_name(name);
  return queueCapture(library, {folder / "photo"}, intake, store);
}

}  // namespace holdshelf::test
