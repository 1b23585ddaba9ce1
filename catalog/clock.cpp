// SPDX-License-Identifier: Apache-2.0
#include "catalog/clock.h"

#include <pwd.h>
#include <unistd.h>

#include <array>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <ctime>

#include "catalog/shown_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

std::string format(int year, int month, int day, int hour, int minute, int second, int ms) {
  std::array<char, 96> text{};
  std::snprintf(text.data(), text.size(), "%04d-%02d-%02dT%02d:%02d:%02d.%03dZ", year, month, day,
                hour, minute, second, ms);
  return text.data();
}

}  // namespace

std::string nowUtc() {
  const auto now = std::chrono::system_clock::now();
  const std::time_t seconds = std::chrono::system_clock::to_time_t(now);
  const auto ms =
      std::chrono::duration_cast<std::chrono::milliseconds>(now.time_since_epoch()).count() % 1000;
  std::tm utc{};
  gmtime_r(&seconds, &utc);
  return format(utc.tm_year + 1900, utc.tm_mon + 1, utc.tm_mday, utc.tm_hour, utc.tm_min,
                utc.tm_sec, static_cast<int>(ms));
}

std::string endOfDate(const std::string& date) {
  using namespace std::chrono;
  int y = 0, m = 0, d = 0, hour = 0, minute = 0, second = 0, used = 0;
  const int size = static_cast<int>(date.size());
  const auto whole = [&] { return used == size; };
  if (std::sscanf(date.c_str(), "%4d-%2d%n", &y, &m, &used) == 2 && whole() && m >= 1 && m <= 12) {
    const year_month_day last{year(y) / month(static_cast<unsigned>(m)) / std::chrono::last};
    return format(y, m, static_cast<int>(static_cast<unsigned>(last.day())), 23, 59, 59, 999);
  }
  if (std::sscanf(date.c_str(), "%4d-%2d-%2d%n", &y, &m, &d, &used) >= 3) {
    const year_month_day given{year(y), month(static_cast<unsigned>(m)),
                               day(static_cast<unsigned>(d))};
    if (whole() && given.ok()) return format(y, m, d, 23, 59, 59, 999);
    int tail = 0;
    if (given.ok() &&
        std::sscanf(date.c_str() + used, "T%2d:%2d:%2d%n", &hour, &minute, &second, &tail) >= 3) {
      const std::string rest = date.substr(static_cast<std::size_t>(used + tail));
      if (rest == "Z") return format(y, m, d, hour, minute, second, 999);
      if (rest.size() == 5 && rest.front() == '.' && rest.back() == 'Z') return date;
    }
  }
  throw BadInput("\"" + givenStart(date, 40) +
                 "\" is not a date: write it as 2031-05-04 or 2031-05-04T18:30:00Z.");
}

std::string whoAmI() {
  if (const char* who = std::getenv("HOLDSHELF_WHO"); who != nullptr && *who != '\0') return who;
  // Asked by many threads of a server at once, which getpwuid would answer from one place.
  passwd entry{};
  passwd* found = nullptr;
  std::array<char, 4096> text{};
  ::getpwuid_r(::getuid(), &entry, text.data(), text.size(), &found);
  return found != nullptr ? entry.pw_name : "unknown";
}

}  // namespace holdshelf
