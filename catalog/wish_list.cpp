// SPDX-License-Identifier: Apache-2.0
#include "catalog/wish_list.h"

#include <algorithm>
#include <cctype>
#include <charconv>
#include <map>
#include <regex>
#include <sstream>

#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

const std::map<std::string, int> kCounts = {
    {"a", 1},   {"an", 1},    {"one", 1},   {"two", 2},  {"three", 3}, {"four", 4}, {"five", 5},
    {"six", 6}, {"seven", 7}, {"eight", 8}, {"nine", 9}, {"ten", 10},  {"some", 2}, {"pair", 2}};
const std::map<std::string, std::string> kGrips = {
    {"jug", "jug"},       {"edge", "edge"},     {"crimp", "crimp"},    {"pocket", "pocket"},
    {"sloper", "sloper"}, {"pinch", "pinch"},   {"foot", "foot-only"}, {"foothold", "foot-only"},
    {"hold", ""},         {"feet", "foot-only"}};
/// Letters. What finds phrases goes back over a wish, so that a long one would take long.
constexpr std::size_t kLongestWish = 200;
constexpr int kMostWishes = 100;
constexpr int kDeepest_mm = 1000;
const std::vector<std::string> kFiller = {"of", "with", "the", "and", "for", "to", "mm", "lip"};

std::string singular(const std::string& word) {
  if (word.ends_with("ches")) return word.substr(0, word.size() - 2);
  return word.size() > 3 && word.ends_with("s") ? word.substr(0, word.size() - 1) : word;
}

/// Takes a phrase out of the text; whether it was there.
bool take(std::string& text, const char* pattern) {
  const std::string rest = std::regex_replace(text, std::regex(pattern), " ");
  const bool found = rest != text;
  text = rest;
  return found;
}

int depthOf(const std::string& digits, const Wish& wish) {
  int depth_mm = 0;
  const auto read = std::from_chars(digits.data(), digits.data() + digits.size(), depth_mm);
  if (read.ec != std::errc{} || depth_mm > kDeepest_mm)
    throw BadInput("The wish \"" + wish.text() + "\" asks for a depth of more than " +
                   std::to_string(kDeepest_mm) + " mm.");
  return depth_mm;
}

void takePhrases(std::string& text, const WishSizes& sizes, Wish& wish) {
  if (take(text, "(without a|without|no) positive lips?")) wish.set_no_positive_lip(true);
  if (take(text, "for compression")) wish.set_compression(true);
  if (take(text, "to finish|finishing|for the finish")) wish.set_role("finish");
  if (take(text, "to start|starting|for the start")) wish.set_role("start");
  if (take(text, "(big|large)[- ]radius")) wish.set_least_lip_radius_mm(sizes.big_radius_mm);
  if (take(text, "small[- ]radius")) wish.set_most_lip_radius_mm(sizes.small_radius_mm);
  if (take(text, "low[- ]profile")) wish.set_most_protrusion_mm(sizes.low_mm);
  std::smatch found;
  if (std::regex_search(text, found, std::regex("(one|two|three)[- ]finger|\\bmono\\b"))) {
    wish.set_fingers(found[1].matched ? kCounts.at(found[1]) : 1);
    text = found.prefix().str() + (found[1].matched ? " " : " pocket ") + found.suffix().str();
  }
  if (std::regex_search(text, found, std::regex("(\\d+) ?(?:-|–|to) ?(\\d+) ?mm( deep)?"))) {
    wish.set_least_depth_mm(depthOf(found[1], wish));
    wish.set_most_depth_mm(depthOf(found[2], wish));
    text = found.prefix().str() + " " + found.suffix().str();
  }
}

bool takeWord(const std::string& word, const WishSizes& sizes, Wish& wish) {
  if (const auto count = kCounts.find(word); count != kCounts.end())
    return wish.set_count(std::max(wish.count(), count->second)), true;
  if (!word.empty() && word.size() < 4 &&
      std::all_of(word.begin(), word.end(), [](unsigned char c) { return std::isdigit(c) != 0; }))
    return wish.set_count(std::stoi(word)), true;
  if (const auto grip = kGrips.find(singular(word)); grip != kGrips.end()) {
    if (!grip->second.empty()) wish.set_grip(grip->second);
    return true;
  }
  if (word == "incut") return wish.set_incut(true), true;
  if (word == "deep") return wish.set_least_depth_mm(sizes.deep_mm), true;
  if (word == "shallow" || word == "thin") return wish.set_most_depth_mm(sizes.shallow_mm), true;
  if (word == "big" || word == "large") return wish.set_least_extent_mm(sizes.big_mm), true;
  if (word == "small") return wish.set_most_extent_mm(sizes.small_mm), true;
  return std::find(kFiller.begin(), kFiller.end(), word) != kFiller.end();
}

Wish parseWish(const std::string& given, const WishSizes& sizes) {
  if (given.size() > kLongestWish)
    throw BadInput("A wish has at most " + std::to_string(kLongestWish) +
                   " letters: write shorter ones, apart by commas.");
  Wish wish;
  wish.set_text(given);
  std::string text = given;
  takePhrases(text, sizes, wish);
  std::istringstream words(text);
  for (std::string word; words >> word;)
    if (!takeWord(word, sizes, wish))
      throw BadInput("The wish \"" + given + "\" has a word not known here, \"" + word +
                     "\": say a count, jug, edge, crimp, pocket, sloper, pinch or foot, and incut, "
                     "deep, shallow, big, small, big-radius, low-profile or 12-18 mm.");
  if (wish.count() == 0) wish.set_count(1);
  if (wish.count() > 100)
    throw BadInput("The wish \"" + given + "\" asks for more than 100 holds.");
  return wish;
}

}  // namespace

WishList parseWishes(const std::string& text, const WishSizes& sizes) {
  WishList list;
  std::string lower = text;
  std::transform(lower.begin(), lower.end(), lower.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  std::replace(lower.begin(), lower.end(), ';', ',');
  std::replace(lower.begin(), lower.end(), '\n', ',');
  std::istringstream parts(lower);
  for (std::string part; std::getline(parts, part, ',');) {
    const auto from = part.find_first_not_of(" \t."), to = part.find_last_not_of(" \t.");
    if (from == std::string::npos) continue;
    part = part.substr(from, to - from + 1);
    if (part.starts_with("and ")) part = part.substr(4);
    if (std::regex_match(part, std::regex("(a )?(good )?spread of sizes")))
      list.set_spread(true);
    else if (list.wishes_size() < kMostWishes)
      *list.add_wishes() = parseWish(part, sizes);
    else
      throw BadInput("A list has at most " + std::to_string(kMostWishes) +
                     " wishes: ask for the others in a list of their own.");
  }
  if (list.wishes().empty())
    throw BadInput(
        "Nothing is wished for: write what you want, as \"four incut crimps, one jug\".");
  return list;
}

}  // namespace holdshelf
