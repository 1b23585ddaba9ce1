// SPDX-License-Identifier: Apache-2.0
#include "catalog/bolt_series.h"
#include "catalog/recorded_bolt.h"
#include "tests/reliability/fuzz/target.h"

using namespace holdshelf;

namespace {

/// A bolt as a person writes it down; else a thread, a colon, a length in it.
void take(const std::string& bytes) {
  if (readBolt(bytes)) return;
  const std::size_t colon = bytes.find(':');
  const Thread thread = threadFromText(bytes.substr(0, colon));
  if (colon != std::string::npos) (void)boltLength_mm(thread, bytes.substr(colon + 1));
}

const test::FuzzTarget target("bolt", take, [] {
  return std::vector<std::string>{"M10:60",
                                  "3/8-16:2 1/4",
                                  "3/8-16:3/4",
                                  "M10",
                                  "M10 x 55 countersunk",
                                  "3/8-16 x 2 1/4 in",
                                  "2 screws 5 x 20"};
});

}  // namespace
