// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <string_view>

namespace holdshelf {

/// SHA-256 of bytes, 64 hex digits.
std::string sha256Hex(std::string_view bytes);

}  // namespace holdshelf
