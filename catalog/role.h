// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

namespace holdshelf {

/// What a device may do on the page. Each role may all that the ones before it may.
enum class Role {
  None,  ///< Not paired: nothing but the page itself and pairing.
  Look,  ///< Read everything.
  Set,   ///< Also move holds between shelf, crate and wall, and write notes.
  Log,   ///< Also take holds in, edit what people say of them, send them to the wash or for a look.
  Head   ///< Also retire holds, pair devices and withdraw them.
};

/// "look", "set", "log", "head", or "" for None; and back.
std::string roleWord(Role role);
/// @throws BadInput  Not one of the four words.
Role roleFromWord(const std::string& word);

}  // namespace holdshelf
