// SPDX-License-Identifier: Apache-2.0
#include "catalog/line_words.h"

#include <algorithm>
#include <cctype>

#include "mesh/bad_input.h"

namespace holdshelf {

std::vector<std::string> phraseWords(const std::string& phrase) {
  std::vector<std::string> words(1);
  for (const char c : phrase)
    if (c == ' ')
      words.emplace_back();
    else
      words.back() += c;
  return words;
}

std::vector<LineWords::Word> LineWords::wordsOf(const std::string& line) {
  std::vector<Word> words;
  for (std::size_t i = 0; i < line.size();) {
    const auto c = static_cast<unsigned char>(line[i]);
    if (std::isspace(c) || c == ',' || c == ';') {
      ++i;
      continue;
    }
    Word word;
    word.quoted = c == '"';
    const std::size_t begin = word.quoted ? i + 1 : i;
    std::size_t end = word.quoted ? line.find('"', begin) : line.find_first_of(" \t\r\n,;", begin);
    if (word.quoted && end == std::string::npos)
      throw BadInput("In the question " + line + " a name begins with \" and does not end.");
    end = std::min(end, line.size());
    word.text = word.lower = line.substr(begin, end - begin);
    for (char& letter : word.lower)
      letter = static_cast<char>(std::tolower(static_cast<unsigned char>(letter)));
    words.push_back(std::move(word));
    i = end + (words.back().quoted ? 1 : 0);
  }
  return words;
}

LineWords::LineWords(const std::string& line) : line_(line), words_(wordsOf(line)) {}

void LineWords::fail(std::size_t at, const std::string& what) const {
  const std::string word = at < words_.size()
                               ? '"' + words_[at].text + "\" (word " + std::to_string(at + 1) + ")"
                               : "the end";
  throw BadInput("In the question '" + line_ + "' " + word + " " + what +
                 (what.ends_with('?') ? "" : "."));
}

bool LineWords::next(const std::string& phrase) {
  const std::vector<std::string> wanted = phraseWords(phrase);
  for (std::size_t i = 0; i < wanted.size(); ++i)
    if (at_ + i >= words_.size() || words_[at_ + i].quoted || words_[at_ + i].lower != wanted[i])
      return false;
  at_ += wanted.size();
  return true;
}

bool LineWords::nextOf(std::initializer_list<const char*> phrases) {
  return std::any_of(phrases.begin(), phrases.end(), [&](const char* p) { return next(p); });
}

std::string LineWords::take(const std::string& what) {
  if (at_ == words_.size()) fail(at_, "comes too early: " + what + " is missing");
  return words_[at_++].text;
}

bool LineWords::dropLead(char lead) {
  if (!lower().starts_with(lead)) return false;
  words_[at_].lower.erase(0, 1);
  return true;
}

}  // namespace holdshelf
