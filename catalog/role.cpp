// SPDX-License-Identifier: Apache-2.0
#include "catalog/role.h"

#include <array>

#include "catalog/shown_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr std::array<const char*, 5> kWords = {"", "look", "set", "log", "head"};

}  // namespace

std::string roleWord(Role role) { return kWords.at(static_cast<std::size_t>(role)); }

Role roleFromWord(const std::string& word) {
  for (std::size_t i = 1; i < kWords.size(); ++i)
    if (word == kWords.at(i)) return static_cast<Role>(i);
  throw BadInput("\"" + givenStart(word, 40) + "\" is no role: use look, set, log or head.");
}

}  // namespace holdshelf
