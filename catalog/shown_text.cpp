// SPDX-License-Identifier: Apache-2.0
#include "catalog/shown_text.h"

#include <string_view>

#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

std::string withoutControlsBut(std::string_view kept, const std::string& text) {
  std::string letters;
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (byte >= 0x80 && byte < 0xa0 && letters.ends_with('\xc2'))
      letters.pop_back();  // The second byte of U+0080 to U+009F.
    else if ((byte >= ' ' && byte != 0x7f) || kept.find(c) != std::string_view::npos)
      letters += c;
  }
  return letters;
}

std::string cleaned(const std::string& given, bool breaks) {
  const std::string text = withoutControlsBut(breaks ? "\n\t" : "", given);
  const std::size_t first = text.find_first_not_of(" \n\t");
  if (first == std::string::npos) return "";
  return text.substr(first, text.find_last_not_of(" \n\t") - first + 1);
}

/// Where its first `most` letters end; its length where it has no more. Of what is no UTF-8 no more
/// than so many letters can take.
std::size_t endOfLetters(const std::string& text, std::size_t most) {
  // Each letter has one byte that does not follow on another.
  const auto begins = [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; };
  std::size_t letters = 0;
  for (std::size_t i = 0; i < text.size(); ++i)
    if ((begins(text[i]) && ++letters > most) || i >= 4 * most) return i;
  return text.size();
}

std::string notLonger(std::string text, std::size_t most, const std::string& what) {
  if (endOfLetters(text, most) < text.size())
    throw BadInput("The " + what + " is longer than " + std::to_string(most) +
                   " letters: shorten it.");
  return text;
}

}  // namespace

std::string withoutControls(const std::string& text) { return withoutControlsBut("\n\t", text); }

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

std::string givenStart(const std::string& text, std::size_t most) {
  const std::string line = withoutControlsBut("", text);
  return line.substr(0, endOfLetters(line, most));
}

}  // namespace holdshelf
