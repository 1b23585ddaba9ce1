// SPDX-License-Identifier: Apache-2.0
#include "catalog/percent_encoding.h"

#include <charconv>

namespace holdshelf {

std::string percentDecoded(std::string_view text) {
  std::string decoded;
  decoded.reserve(text.size());
  for (std::size_t i = 0; i < text.size(); ++i) {
    unsigned char byte = 0;
    const std::string_view digits = text.substr(i + 1, 2);
    const bool encoded =
        text[i] == '%' && digits.size() == 2 &&
        std::from_chars(digits.data(), digits.data() + 2, byte, 16).ptr == digits.data() + 2;
    decoded += encoded ? static_cast<char>(byte) : text[i];
    if (encoded) i += 2;
  }
  return decoded;
}

}  // namespace holdshelf
