// SPDX-License-Identifier: Apache-2.0
#include "catalog/check_dismissal.h"

#include <algorithm>

namespace holdshelf {

bool isWorse(const ClimbCheck& now, const Dismissal& then) {
  if (now.grade() == "not judged" && now.reason() != then.found()) return true;
  return !then.grade().empty() &&
         (now.grade() != then.grade() || now.severity() > then.severity() + 1);
}

void applyDismissals(const Climb& climb, ClimbChecks& checks) {
  for (ClimbCheck& check : *checks.mutable_checks())
    for (const Dismissal& d : climb.dismissals()) {
      if (d.outdated() || d.check() != check.kind() || d.hold() != check.hold()) continue;
      check.clear_dismissed();
      check.clear_reopened();
      *(isWorse(check, d) ? check.mutable_reopened() : check.mutable_dismissed()) = d;
    }
  auto& all = *checks.mutable_checks();
  const auto aside =
      std::stable_partition(all.pointer_begin(), all.pointer_end(),
                            [](const ClimbCheck* check) { return !check->has_dismissed(); });
  checks.set_open(static_cast<int>(aside - all.pointer_begin()));
}

}  // namespace holdshelf
