// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>

#include "catalog/postgres_pool.h"

namespace holdshelf::test {

/// From now on whoever has committed an event to the library finds no table any more.
inline void loseAfterCommit(const std::filesystem::path& address) {
  borrowConnection(address)->execute(
      "CREATE FUNCTION holdshelf.gets_lost() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
      "PERFORM set_config('search_path', 'nowhere', false); RETURN NULL; END $$;"
      "CREATE CONSTRAINT TRIGGER gets_lost AFTER INSERT ON holdshelf.event DEFERRABLE INITIALLY "
      "DEFERRED FOR EACH ROW EXECUTE FUNCTION holdshelf.gets_lost()");
}

}  // namespace holdshelf::test
