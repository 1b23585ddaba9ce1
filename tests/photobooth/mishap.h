// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "tests/photobooth/booth.h"

namespace holdshelf {

/// A way in which captures go wrong, by name.
struct Mishap {
  std::string name;
  std::string what;  ///< One line for --help.
};

const std::vector<Mishap>& mishaps();

/// Changes a good capture's options so that the named thing goes wrong in it.
/// @throws std::invalid_argument  No such mishap; the text lists those there are.
void letGoWrong(const std::string& name, BoothOptions& options);

}  // namespace holdshelf
