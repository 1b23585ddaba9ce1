// SPDX-License-Identifier: Apache-2.0
#include "catalog/shown_text.h"

#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

std::string cleaned(std::string text, bool breaks) {
  std::erase_if(text, [&](unsigned char c) {
    return (c < ' ' && !(breaks && (c == '\n' || c == '\t'))) || c == 0x7f;
  });
  const std::size_t first = text.find_first_not_of(" \n\t");
  if (first == std::string::npos) return "";
  return text.substr(first, text.find_last_not_of(" \n\t") - first + 1);
}

/// Where its first `most` letters end; its length where it has no more.
std::size_t endOfLetters(const std::string& text, std::size_t most) {
  // Each letter has one byte that does not follow on another.
  const auto begins = [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; };
  std::size_t letters = 0;
  for (std::size_t i = 0; i < text.size(); ++i)
    if (begins(text[i]) && ++letters > most) return i;
  return text.size();
}

std::string notLonger(std::string text, std::size_t most, const std::string& what) {
  if (endOfLetters(text, most) < text.size())
    throw BadInput("The " + what + " is longer than " + std::to_string(most) +
                   " letters: shorten it.");
  return text;
}

}  // namespace

std::string shownText(const std::string& text, std::size_t most, const std::string& what) {
  return notLonger(cleaned(text, true), most, what);
}

std::string shownLine(const std::string& text, std::size_t most, const std::string& what) {
  return notLonger(cleaned(text, false), most, what);
}

std::string shownStart(const std::string& text, std::size_t most) {
  const std::string line = cleaned(text, false);
  return cleaned(line.substr(0, endOfLetters(line, most)), false);
}

}  // namespace holdshelf
