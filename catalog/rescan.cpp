// SPDX-License-Identifier: Apache-2.0
#include "catalog/rescan.h"

#include <algorithm>
#include <chrono>
#include <cstdio>

#include "catalog/gym.h"
#include "catalog/measured_text.h"

namespace holdshelf {
namespace {

/// Days since 1970 of "2031-05-04T09:12:33.042Z", to the second.
double daysOf(const std::string& at) {
  int year = 0, month = 0, day = 0, hour = 0, minute = 0, second = 0;
  std::sscanf(at.c_str(), "%d-%d-%dT%d:%d:%d", &year, &month, &day, &hour, &minute, &second);
  const std::chrono::sys_days date{std::chrono::year(year) /
                                   std::chrono::month(static_cast<unsigned>(month)) /
                                   std::chrono::day(static_cast<unsigned>(day))};
  return static_cast<double>(date.time_since_epoch().count()) +
         (hour * 3600 + minute * 60 + second) / 86400.0;
}

}  // namespace

RescanDue rescanDue(const std::vector<Event>& history, const Gym& given, const std::string& now) {
  const Gym gym = withDefaults(given);
  RescanDue due;
  std::string since, climb;  // Of the time on the wall that is running.
  const auto endRun = [&](const std::string& at) {
    if (!since.empty()) due.days_on_wall += std::max(0.0, daysOf(at) - daysOf(since));
    since.clear();
  };
  for (const Event& event : history) {
    if (event.has_scanned()) {
      due = {};
      if (!since.empty()) since = event.at();
    }
    if (!event.has_moved()) continue;
    endRun(event.at());
    if (event.moved().status() != WALL) {
      climb.clear();
      continue;
    }
    if (climb.empty() || climb != event.moved().climb()) ++due.climbs;
    climb = event.moved().climb();
    since = event.at();
  }
  endRun(now);
  const auto because = [&](const std::string& text) {
    due.due = true;
    due.reason += (due.reason.empty() ? "" : ", ") + text;
  };
  if (due.days_on_wall >= gym.rescan_days())
    because(decimalText(due.days_on_wall, 0) + " days on the wall since its last scan (" +
            std::to_string(gym.rescan_days()) + ")");
  if (due.climbs >= gym.rescan_climbs())
    because(std::to_string(due.climbs) + (due.climbs == 1 ? " climb" : " climbs") +
            " since its last scan (" + std::to_string(gym.rescan_climbs()) + ")");
  return due;
}

}  // namespace holdshelf
