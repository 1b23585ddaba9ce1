// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

namespace holdshelf {

/// The time now as RFC 3339 in UTC, to the millisecond: "2031-05-04T09:12:33.042Z". Such strings
/// sort by time.
std::string nowUtc();

/// The end of what a person names as a date or time: "2031-05-04" gives the last millisecond of
/// that day, "2031-05" of that month; a full RFC 3339 time in UTC gives itself.
/// @throws BadInput  It is none of these.
std::string endOfDate(const std::string& date);

/// Who is at work: $HOLDSHELF_WHO if set, else the login name.
std::string whoAmI();

}  // namespace holdshelf
