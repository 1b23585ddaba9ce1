// SPDX-License-Identifier: Apache-2.0
#include "catalog/caller_seats.h"

#include <doctest/doctest.h>

using namespace holdshelf;

TEST_CASE("caller seats: so many of each address, and free again once one is left") {
  CallerSeats seats(2);
  CHECK(seats.take("192.0.2.1"));
  CHECK(seats.take("192.0.2.1"));
  CHECK_FALSE(seats.take("192.0.2.1"));
  CHECK(seats.take("192.0.2.2"));
  seats.leave("192.0.2.1");
  CHECK(seats.take("192.0.2.1"));
  CHECK_FALSE(seats.take("192.0.2.1"));
}

TEST_CASE("caller seats: loopback addresses are counted where that is wanted") {
  CallerSeats seats(1, true);
  CHECK(seats.take("127.0.0.1"));
  CHECK_FALSE(seats.take("127.0.0.1"));
  seats.leave("127.0.0.1");
  CHECK(seats.take("127.0.0.1"));
}

TEST_CASE("caller seats: loopback addresses are not counted") {
  CallerSeats seats(1);
  for (int i = 0; i < 3; ++i) CHECK(seats.take("127.0.0.1"));
  CHECK(seats.take("::1"));
  seats.leave("127.0.0.1");
  CHECK(seats.take("192.0.2.1"));
  CHECK_FALSE(seats.take("192.0.2.1"));
}
