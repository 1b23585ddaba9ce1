// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "mesh/bad_input.h"

namespace holdshelf::test {

/// The sentence with which something was refused; empty where it was not.
template <typename Run>
std::string complaintOf(const Run& run) {
  try {
    run();
  } catch (const BadInput& refused) {
    return refused.what();
  }
  return "";
}

}  // namespace holdshelf::test
