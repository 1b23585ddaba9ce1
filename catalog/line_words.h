// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <initializer_list>
#include <string>
#include <vector>

namespace holdshelf {

/// A line of text cut into words and read from left to right. Words end at white space, commas and
/// semicolons; what stands in quotation marks is one word, and never part of a phrase. Case does
/// not matter.
class LineWords {
 public:
  /// @throws BadInput  A quotation mark begins a name and none ends it.
  explicit LineWords(const std::string& line);

  bool atEnd() const { return at_ == words_.size(); }
  /// Number of words read so far, and back to one where it was.
  std::size_t at() const { return at_; }
  void goTo(std::size_t at) { at_ = at; }
  /// The word to be read next, in lower case; empty at the end.
  std::string lower() const { return atEnd() ? "" : words_[at_].lower; }

  /// Reads the phrase ("lip like") if it is what comes next.
  bool next(const std::string& phrase);
  /// Reads the first of the phrases that comes next.
  bool nextOf(std::initializer_list<const char*> phrases);
  /// Reads any one word, as typed. @param what  It stands for, with its article: "the bin".
  /// @throws BadInput  The line is at its end.
  std::string take(const std::string& what);
  /// Takes `lead` off the beginning of the word to be read next; false where it begins otherwise.
  bool dropLead(char lead);
  /// Reads one word, whatever it is. Not at the end.
  void skip() { ++at_; }

  /// Points at a word, or the end: "In the question '...' "purpel" (word 3) is not understood."
  /// @throws BadInput  Always.
  [[noreturn]] void fail(std::size_t at, const std::string& what) const;

 private:
  struct Word {
    std::string text;   // As typed.
    std::string lower;  // For comparing.
    bool quoted = false;
  };
  static std::vector<Word> wordsOf(const std::string& line);

  std::string line_;
  std::vector<Word> words_;
  std::size_t at_ = 0;
};

/// A phrase's words.
std::vector<std::string> phraseWords(const std::string& phrase);

}  // namespace holdshelf
