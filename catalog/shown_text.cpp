// SPDX-License-Identifier: Apache-2.0
#include "catalog/shown_text.h"

#include <algorithm>

#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

std::string cleaned(std::string text, bool breaks, std::size_t most, const std::string& what) {
  std::erase_if(text, [&](unsigned char c) {
    return (c < ' ' && !(breaks && (c == '\n' || c == '\t'))) || c == 0x7f;
  });
  const std::size_t first = text.find_first_not_of(" \n\t");
  if (first == std::string::npos) return "";
  text = text.substr(first, text.find_last_not_of(" \n\t") - first + 1);
  // Each letter has one byte that does not follow on another.
  const auto letters = std::count_if(text.begin(), text.end(), [](char c) {
    return (static_cast<unsigned char>(c) & 0xC0) != 0x80;
  });
  if (static_cast<std::size_t>(letters) > most)
    throw BadInput("The " + what + " is longer than " + std::to_string(most) +
                   " letters: shorten it.");
  return text;
}

}  // namespace

std::string shownText(const std::string& text, std::size_t most, const std::string& what) {
  return cleaned(text, true, most, what);
}

std::string shownLine(const std::string& text, std::size_t most, const std::string& what) {
  return cleaned(text, false, most, what);
}

}  // namespace holdshelf
