// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <functional>
#include <string>

namespace holdshelf {

/// Does work that needs a database which may go away and come back: whenever the database fails
/// (StoreError, StoreUnavailable) the work is begun anew after a pause, of half a second at first,
/// then of twice as long each time, ten seconds at most. Whatever else is thrown ends it.
/// @param work  Calls `reached` once it has what it needs: the next pause is a short one again.
/// @param lost  Told why before each pause; ends the work by a throw.
/// @param stop  Asked several times a second in a pause; empty: nobody wants to.
/// @return  false: `stop` said so before the work was done.
bool doThroughOutages(const std::function<void(const std::function<void()>& reached)>& work,
                      const std::function<void(const std::string& why)>& lost,
                      const std::function<bool()>& stop);

}  // namespace holdshelf
