// SPDX-License-Identifier: Apache-2.0
#include "catalog/climb_strip.h"

#include <algorithm>

#include "catalog/climb_change.h"
#include "catalog/climb_pick.h"
#include "catalog/climb_record.h"
#include "catalog/climbs.h"
#include "catalog/clock.h"
#include "catalog/gym.h"
#include "catalog/hold_record.h"
#include "catalog/library_lot.h"
#include "catalog/rescan.h"
#include "catalog/shown_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

StripLine stripLine(const Library& library, const Gym& gym, const Hold& hold,
                    const std::string& now) {
  StripLine line;
  line.set_hold(hold.id());
  line.set_name(hold.name());
  line.set_bin(hold.bin());
  const RescanDue due = rescanDue(library.history(hold.id()), gym, now);
  line.set_days_on_wall(due.days_on_wall);
  line.set_climbs(due.climbs);
  line.set_rescan(due.due);
  line.set_reason(due.reason);
  return line;
}

}  // namespace

StripList stripList(const Library& library, const std::string& id, const std::string& to) {
  if (to != "wash" && to != "shelf")
    throw BadInput("\"" + givenStart(to, 40) +
                   "\" is nowhere holds of a stripped climb go: use wash or shelf.");
  const Gym gym = withDefaults(gymOf(library));
  StripList list;
  *list.mutable_climb() = climbOf(library, id);
  list.set_to(to);
  const std::string now = nowUtc();
  std::vector<StripLine> lines;
  for (const ClimbHold& held : list.climb().holds()) {
    if (!held.gone().empty()) continue;
    const Hold hold = library.hold(held.hold());
    if (isHere(hold, id))
      lines.push_back(stripLine(library, gym, hold, now));
    else
      list.add_not_here(hold.id() + " " + hold.name() + " is " + whereabouts(library, hold) + ".");
  }
  std::stable_sort(lines.begin(), lines.end(), [&](const StripLine& a, const StripLine& b) {
    return binBefore(gym, a.bin(), b.bin());
  });
  for (StripLine& line : lines) {
    if (list.bins().empty() || list.bins().rbegin()->bin() != line.bin())
      list.add_bins()->set_bin(line.bin());
    *list.mutable_bins()->rbegin()->add_lines() = std::move(line);
  }
  return list;
}

StripList stripClimb(Library& library, const std::string& id, const std::string& to,
                     const ClimbAllowed& allowed) {
  StripList list;
  Climb stripped = changeClimb(library, id, allowed, [&](const Climb&) {
    list = stripList(library, id, to);
    std::vector<Event> events;
    std::vector<std::string> unused;
    for (const StripBin& bin : list.bins())
      for (const StripLine& line : bin.lines()) {
        if (to == "shelf" && isUnusedPart(library, library.hold(line.hold())))
          unused.push_back(line.hold());
        else
          events.push_back(moveEvent(line.hold(), toStatus(to == "wash" ? WASH : SHELF)));
      }
    for (Event& event : joinEvents(library, unused)) events.push_back(std::move(event));
    ClimbChange change;
    change.set_stripped(true);
    events.push_back(climbEvent(id, change));
    return events;
  });
  *list.mutable_climb() = std::move(stripped);
  return list;
}

std::string stripText(const StripList& list) {
  std::string text = climbStateText(list.climb().state()) + ": " + list.climb().id() + " " +
                     list.climb().name() + ", holds go to the " + list.to() + "\n";
  for (const StripBin& bin : list.bins()) {
    text += (bin.bin().empty() ? "no bin" : bin.bin()) + "\n";
    for (const StripLine& line : bin.lines())
      text += "  " + line.hold() + " " + line.name() +
              (line.rescan() ? "  scan anew: " + line.reason() : "") + "\n";
  }
  for (const std::string& gone : list.not_here()) text += "  not here: " + gone + "\n";
  return text;
}

}  // namespace holdshelf
