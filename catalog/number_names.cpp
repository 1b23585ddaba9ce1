// SPDX-License-Identifier: Apache-2.0
#include "catalog/number_names.h"

#include <algorithm>
#include <utility>

#include "catalog/hold_numbers.h"

namespace holdshelf {

const std::vector<NumberName>& numberNames() {
  static const std::vector<NumberName> names = [] {
    std::vector<NumberName> made;
    for (const NumberKind& kind : numberKinds()) {
      made.push_back({kind.label, kind.flag});
      made.push_back({kind.flag, kind.flag});
    }
    for (const auto& [phrase, flag] : {std::pair{"deep", "edge-depth"},
                                       {"depth", "edge-depth"},
                                       {"wide", "edge-width"},
                                       {"radius", "lip-radius"},
                                       {"lip", "lip-radius"},
                                       {"proud", "protrusion"},
                                       {"profile", "protrusion"},
                                       {"sticking out", "protrusion"},
                                       {"sticks out", "protrusion"},
                                       {"finger", "fingers"}})
      made.push_back({phrase, flag});
    std::stable_sort(made.begin(), made.end(), [](const NumberName& x, const NumberName& y) {
      return phraseWords(x.phrase).size() > phraseWords(y.phrase).size();
    });
    return made;
  }();
  return names;
}

std::optional<std::string> takeNumberName(LineWords& words) {
  for (const NumberName& name : numberNames())
    if (words.next(name.phrase)) return name.flag;
  return std::nullopt;
}

bool numberNameFollows(LineWords words) { return takeNumberName(words).has_value(); }

}  // namespace holdshelf
