// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <string_view>

namespace holdshelf {

/// A piece of an address with each % and two hex digits turned into the byte they stand for
/// (RFC 3986, 2.1). A % that is not followed by them stays as it is, and so does +.
std::string percentDecoded(std::string_view text);

}  // namespace holdshelf
