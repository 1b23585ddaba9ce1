// SPDX-License-Identifier: Apache-2.0
#include "catalog/line_words.h"

#include <doctest/doctest.h>

#include "mesh/bad_input.h"

using namespace holdshelf;

namespace {

std::string sentence(const LineWords& words, std::size_t at, const std::string& what) {
  try {
    words.fail(at, what);
  } catch (const BadInput& error) {
    return error.what();
  }
}

}  // namespace

TEST_CASE("line words: parted by space, commas and semicolons, quoted ones whole") {
  LineWords words("Red, edge;\t \"Harbour ledge, left\"x");
  CHECK(words.lower() == "red");
  CHECK(words.take("a colour") == "Red");
  CHECK(words.take("a word") == "edge");
  CHECK(words.take("the name") == "Harbour ledge, left");
  CHECK(words.take("the rest") == "x");
  CHECK(words.atEnd());
  CHECK(words.lower().empty());
  CHECK(LineWords("  ,; ").atEnd());
  CHECK_THROWS_AS(LineWords("named \"ledge"), BadInput);
}

TEST_CASE("line words: a phrase is read whole or not at all") {
  LineWords words("On the SHELF on the");
  CHECK_FALSE(words.next("on the wall"));
  CHECK(words.at() == 0);
  CHECK(words.nextOf({"on the wall", "on the shelf", "on"}));
  CHECK(words.at() == 3);
  CHECK_FALSE(words.next("on the shelf"));  // The line ends before the phrase.
  CHECK(words.next("on"));
  words.goTo(0);
  CHECK(words.next("on the"));
  LineWords quoted("\"on the\" \"on\" the");  // A name is no phrase, whatever it is.
  CHECK_FALSE(quoted.next("on the"));
  quoted.skip();
  CHECK_FALSE(quoted.next("on the"));
}

TEST_CASE("line words: a lead is taken off once") {
  LineWords words("-Lip radius");
  CHECK_FALSE(words.next("lip radius"));
  CHECK(words.dropLead('-'));
  CHECK_FALSE(words.dropLead('-'));
  CHECK(words.next("lip radius"));
  CHECK_FALSE(words.dropLead('-'));
}

TEST_CASE("line words: errors point at the word as typed, or at the end") {
  LineWords words("Red PURPEL");
  CHECK(sentence(words, 1, "is no colour") ==
        "In the question 'Red PURPEL' \"PURPEL\" (word 2) is no colour.");
  CHECK(sentence(words, 1, ": purple?") ==
        "In the question 'Red PURPEL' \"PURPEL\" (word 2) : purple?");
  CHECK(sentence(words, 2, "comes too early") ==
        "In the question 'Red PURPEL' the end comes too early.");
  words.goTo(2);
  CHECK_THROWS_WITH_AS(words.take("the bin"),
                       "In the question 'Red PURPEL' the end comes too early: the bin is missing.",
                       BadInput);
}
