// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <functional>
#include <string>

namespace holdshelf {

/// Called from long work, from one thread at a time: the stage in plain words and how much of it
/// is done, 0 to 1. Returns false to stop; the work then throws Interrupted.
using Progress = std::function<bool(const std::string& stage, double done)>;

}  // namespace holdshelf
