// SPDX-License-Identifier: Apache-2.0
#include "catalog/check_dismissal.h"

#include <doctest/doctest.h>

using namespace holdshelf;

namespace {

ClimbCheck check(const std::string& kind, const std::string& hold, const std::string& grade,
                 double severity) {
  ClimbCheck made;
  made.set_kind(kind);
  made.set_hold(hold);
  made.set_grade(grade);
  made.set_severity(severity);
  made.set_reason(grade + " of " + hold);
  return made;
}

Dismissal dismissal(const ClimbCheck& of, const std::string& who) {
  Dismissal made;
  made.set_check(of.kind());
  made.set_hold(of.hold());
  made.set_grade(of.grade());
  made.set_severity(of.severity());
  made.set_found(of.reason());
  made.set_who(who);
  return made;
}

}  // namespace

TEST_CASE("isWorse: another finding, or more than one difference that matters") {
  const ClimbCheck found = check("worn", "H-0001", "worn", 2);
  const Dismissal then = dismissal(found, "Maren");
  CHECK_FALSE(isWorse(found, then));
  CHECK_FALSE(isWorse(check("worn", "H-0001", "worn", 3), then));
  CHECK(isWorse(check("worn", "H-0001", "worn", 3.1), then));
  CHECK_FALSE(isWorse(check("worn", "H-0001", "worn", -5), then));
  CHECK(isWorse(check("worn", "H-0001", "worn out", 2), then));
  Dismissal old = then;  // Of before the grade was kept.
  old.clear_grade();
  CHECK_FALSE(isWorse(check("worn", "H-0001", "worn out", 99), old));
}

TEST_CASE("isWorse: of two bolts that cannot be judged one says nothing of the other") {
  ClimbCheck now = check("bolt", "H-0001", "not judged", 0);
  const Dismissal then = dismissal(now, "Maren");
  CHECK_FALSE(isWorse(now, then));
  now.set_reason("another bolt");
  CHECK(isWorse(now, then));
}

TEST_CASE("applyDismissals: set aside and last, or open again, by who did it last") {
  ClimbChecks checks;
  const ClimbCheck aside = check("bolt", "H-0001", "not recorded", 0),
                   worse = check("worn", "H-0001", "worn out", 5),
                   free = check("bolt", "H-0002", "not recorded", 0),
                   moved = check("feet", "H-0003", "no toe", 1);
  for (const ClimbCheck& one : {aside, worse, free, moved}) *checks.add_checks() = one;
  Climb climb;
  *climb.add_dismissals() = dismissal(aside, "Maren");
  *climb.add_dismissals() = dismissal(aside, "Ole");
  *climb.add_dismissals() = dismissal(check("worn", "H-0001", "worn", 2), "Maren");
  *climb.add_dismissals() = dismissal(moved, "Maren");
  climb.mutable_dismissals()->rbegin()->set_outdated(true);  // It was mounted anew since.
  applyDismissals(climb, checks);
  CHECK(checks.open() == 3);
  REQUIRE(checks.checks_size() == 4);
  CHECK(checks.checks(0).kind() == "worn");  // The open ones in their order.
  CHECK(checks.checks(0).reopened().who() == "Maren");
  CHECK_FALSE(checks.checks(0).has_dismissed());
  CHECK(checks.checks(1).hold() == "H-0002");
  CHECK_FALSE(checks.checks(1).has_dismissed());
  CHECK(checks.checks(2).hold() == "H-0003");
  CHECK_FALSE(checks.checks(2).has_dismissed());
  CHECK(checks.checks(3).dismissed().who() == "Ole");
  // What was worse is set aside anew: that counts.
  *climb.add_dismissals() = dismissal(worse, "Ole");
  applyDismissals(climb, checks);
  CHECK(checks.open() == 2);
  CHECK_FALSE(checks.checks(2).has_reopened());
}
