// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstddef>
#include <limits>
#include <string>

#include "proto/event.pb.h"

namespace holdshelf {

/// The most that a message may have in bytes for protobuf to write and read it: of a larger one it
/// writes nothing.
constexpr std::size_t kMostBatchBytes = std::numeric_limits<int>::max();

/// A batch as it is stored.
/// @throws BadInput  It is too large to be written: what one commit adds has to be less.
std::string batchBytes(const Batch& batch, std::size_t most = kMostBatchBytes);

}  // namespace holdshelf
