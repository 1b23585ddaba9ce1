// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "proto/climb.pb.h"

namespace holdshelf {

/// Suggestions as people read them: wish by wish what was chosen (+), what is short (!) with the
/// nearest misses, and what could be taken instead.
std::string suggestText(const Suggestions& suggestions);

/// What is short of a wish, in a sentence with its nearest miss; empty where nothing is.
/// @param considered  Holds on the shelf of the climb's colour.
std::string shortfallText(const WishOffers& offers, int considered);

}  // namespace holdshelf
