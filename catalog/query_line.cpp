// SPDX-License-Identifier: Apache-2.0
#include "catalog/query_line.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <optional>
#include <vector>

#include "catalog/colour.h"
#include "catalog/edit_distance.h"
#include "catalog/hold_numbers.h"
#include "catalog/query_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

struct Word {
  std::string text;   // As typed.
  std::string lower;  // For comparing.
  bool quoted = false;
};

using Phrase = std::vector<std::string>;

Phrase split(const std::string& text) {
  Phrase words(1);
  for (const char c : text)
    if (c == ' ')
      words.emplace_back();
    else
      words.back() += c;
  return words;
}

std::vector<Word> wordsOf(const std::string& line) {
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

struct Named {
  std::string phrase, flag;
};

/// What numbers are called: their labels, their flags, and what people say after a value.
const std::vector<Named>& numberNames() {
  static const std::vector<Named> names = [] {
    std::vector<Named> made;
    for (const NumberKind& kind : numberKinds()) {
      made.push_back({kind.label, kind.flag});
      made.push_back({kind.flag, kind.flag});
    }
    for (const auto& [phrase, flag] : {std::pair{"deep", "edge-depth"},
                                       {"depth", "edge-depth"},
                                       {"wide", "edge-width"},
                                       {"radius", "lip-radius"},
                                       {"lip", "lip-radius"},
                                       {"proud", "protrusion"},
                                       {"profile", "protrusion"},
                                       {"sticking out", "protrusion"},
                                       {"sticks out", "protrusion"},
                                       {"finger", "fingers"}})
      made.push_back({phrase, flag});
    std::stable_sort(made.begin(), made.end(), [](const Named& x, const Named& y) {
      return split(x.phrase).size() > split(y.phrase).size();
    });
    return made;
  }();
  return names;
}

constexpr std::array kTerms = {"black", "white", "grey",   "red",  "orange", "yellow",
                               "green", "blue",  "purple", "pink", "brown"};
constexpr std::array kModifiers = {"light", "dark", "pale", "deep", "vivid"};
constexpr std::array kGripWords = {"jug",    "edge",  "crimp",    "pocket",
                                   "sloper", "pinch", "foot-only"};
constexpr std::array kFillers = {"a",     "an", "the",  "and",   "with", "of",  "in", "is", "hold",
                                 "holds", "on", "that", "which", "but",  "for", "at", "or"};

/// Ends of a value; both unset: it was no value.
struct Value {
  std::optional<double> from, to;
  bool alone = false;  ///< One number without "over" or the like: its tolerance belongs to it.
};

class LineReader {
 public:
  LineReader(const std::string& line, Query& query)
      : line_(line), words_(wordsOf(line)), query_(query) {}

  void read() {
    while (at_ < words_.size())
      if (!fixedPhrase() && !named() && !lip() && !order() && !mounting() && !number() &&
          !colour() && !gripWord() && !filler())
        fail(at_, "is not understood" + suggestion());
  }

 private:
  [[noreturn]] void fail(std::size_t at, const std::string& what) const {
    const std::string word =
        at < words_.size() ? '"' + words_[at].text + "\" (word " + std::to_string(at + 1) + ")"
                           : "the end";
    throw BadInput("In the question '" + line_ + "' " + word + " " + what +
                   (what.ends_with('?') ? "" : "."));
  }

  bool next(const std::string& phrase) {
    const Phrase wanted = split(phrase);
    for (std::size_t i = 0; i < wanted.size(); ++i)
      if (at_ + i >= words_.size() || words_[at_ + i].quoted || words_[at_ + i].lower != wanted[i])
        return false;
    at_ += wanted.size();
    return true;
  }

  bool nextOf(std::initializer_list<const char*> phrases) {
    return std::any_of(phrases.begin(), phrases.end(), [&](const char* p) { return next(p); });
  }

  std::string take(const std::string& what) {
    if (at_ == words_.size()) fail(at_, "comes too early: " + what + " is missing");
    return words_[at_++].text;
  }

  bool fixedPhrase() {
    if (nextOf({"on the shelf", "on shelf", "shelved"})) return query_.add_statuses(SHELF), true;
    if (nextOf({"in a crate", "in crates", "crated"})) return query_.add_statuses(CRATE), true;
    if (nextOf({"on the wall", "on walls"})) return query_.add_statuses(WALL), true;
    if (nextOf({"in the wash", "washing"})) return query_.add_statuses(WASH), true;
    if (nextOf({"needs a look", "need a look"})) return query_.add_statuses(NEEDS_LOOK), true;
    if (next("retired")) return query_.add_statuses(RETIRED), true;
    if (nextOf({"foot-only", "foot only"})) return query_.add_words("foot-only"), true;
    if (nextOf({"foot", "foothold", "footholds", "feet", "not too grabbable"}))
      return query_.set_foot(true), true;
    if (next("vertical")) return query_.set_wall_angle_deg(0), true;
    if (nextOf({"undercling", "pulled up"})) return query_.set_pull_deg(180), true;
    if (nextOf({"side pull", "sidepull", "pulled left"})) return query_.set_pull_deg(-90), true;
    if (next("pulled right")) return query_.set_pull_deg(90), true;
    if (next("pulled down")) return query_.set_pull_deg(0), true;
    return false;
  }

  bool named() {
    if (next("bin")) return query_.add_bins(take("the bin")), true;
    if (next("set")) return query_.add_sets(take("the set")), true;
    if (nextOf({"named", "name"})) return query_.set_text(take("part of the name")), true;
    if (nextOf({"patch", "colour like"})) {
      const std::size_t at = at_;
      const std::string hex = take("a colour such as #be0032");
      try {
        const Lab lab = labFromHex(hex);
        for (const double value : {lab.L, lab.a, lab.b}) query_.add_lab(value);
      } catch (const BadInput&) {
        fail(at, "is no colour: write six hex digits such as #be0032");
      }
      return true;
    }
    return false;
  }

  bool lip() {
    if (nextOf({"lip like", "lip of like", "like the lip of", "like"})) {
      (void)next("the lip of");
      query_.mutable_lip()->set_like(take("the id of a hold"));
      if (nextOf({"at rotation", "at its rotation"}))
        query_.mutable_lip()->set_like_rotation_deg(single("a rotation such as 30"));
      return true;
    }
    if (nextOf({"lip shaped", "lip shape"})) {
      LipQuery& lip = *query_.mutable_lip();
      for (;;) {
        if (next("radius"))
          lip.set_radius_mm(single("the radius in mm"));
        else if (next("incut"))
          lip.set_incut_deg(single("the incut in degrees"));
        else if (nextOf({"depth", "deep"}))
          lip.set_depth_mm(single("the depth in mm"));
        else
          break;
      }
      if (!lip.has_radius_mm()) fail(at_, "comes too early: a lip shape needs a radius");
      return true;
    }
    if (next("within")) {
      const std::size_t at = at_;
      const double mm = single("a gap in mm");
      if (!query_.has_lip())
        fail(at, "says how near a lip must be, but no lip is wanted before it");
      if (!(mm > 0)) fail(at, "is no gap: write a length above 0 mm");
      query_.mutable_lip()->set_within_mm(mm);
      return true;
    }
    return false;
  }

  bool order() {
    if (next("deepest first")) return query_.set_sort("-edge-depth"), true;
    if (next("lowest first")) return query_.set_sort("protrusion"), true;
    if (nextOf({"sorted by", "sort by"})) {
      const std::size_t at = at_;
      std::string key = words_.size() > at_ ? words_[at_].lower : "";
      const bool falling = key.starts_with('-');
      if (falling) words_[at_].lower = key = key.substr(1);
      if (const auto flag = numberName()) {
        key = *flag;
      } else if (key == "id" || key == "name" || key == "colour-distance") {
        ++at_;
      } else {
        fail(at, "is nothing to sort by: write a number such as edge depth, id or name");
      }
      return query_.set_sort((falling ? "-" : "") + key), true;
    }
    if (nextOf({"show", "limit"})) {
      const std::size_t at = at_;
      const double count = single("a number of holds");
      if (!(count >= 1 && count < 1e6)) fail(at, "is no number of holds");
      return query_.set_limit(static_cast<int>(count)), true;
    }
    return false;
  }

  bool mounting() {
    const std::size_t begin = at_;
    if (nextOf({"turned", "rotation", "rotated"})) {
      (void)next("to");
      const std::size_t at = at_;
      std::string range = trimUnit(take("a range of rotations such as 60..120"));
      if (next("to")) range += ".." + trimUnit(take("the last rotation"));
      (void)nextOf({"deg", "degrees", "°"});
      try {
        setRotation(query_, range);
      } catch (const BadInput&) {
        fail(at, "is no range of rotations: write 60..120, or 330..30 through zero");
      }
      return true;
    }
    if (next("pulled"))
      return query_.set_pull_deg(single("left, right, up, down or degrees")), true;
    if (nextOf({"slab of", "slab"})) return query_.set_wall_angle_deg(-single("its degrees")), true;
    if (nextOf({"wall angle", "wall of", "wall"}))
      return query_.set_wall_angle_deg(single("degrees past vertical")), true;
    if (nextOf({"grip force", "grips with", "force"})) {
      const std::size_t at = at_;
      const auto force = value();
      if (!force)
        fail(at, "is no force: write a fraction of a large jug, e.g. grip force over 0.4");
      constexpr double kTolerance = 0.05;
      if (force->from) query_.set_grip_force_from(*force->from - (force->alone ? kTolerance : 0));
      if (force->to) query_.set_grip_force_to(*force->to + (force->alone ? kTolerance : 0));
      (void)next("of a jug");
      return true;
    }
    if (next("at")) {
      const auto angle = value();
      // "at 20 mm deep" says a number, "at 30 deg" a wall.
      if (angle && angle->alone && !numberNameFollows()) {
        (void)nextOf({"past vertical", "overhang", "wall"});
        return query_.set_wall_angle_deg(*angle->from), true;
      }
      at_ = begin;
    }
    return false;
  }

  bool number() {
    const std::size_t begin = at_;
    if (const auto flag = numberName()) {
      (void)nextOf({"of", "is"});
      if (const auto limit = value()) return addRange(*flag, *limit), true;
      at_ = begin;
      return false;
    }
    auto limit = value();
    if (!limit) return false;
    if (nextOf({"wall", "overhang", "past vertical"})) {
      if (!limit->alone) fail(begin, "is no wall angle: write one number, e.g. 30 deg wall");
      return query_.set_wall_angle_deg(*limit->from), true;
    }
    (void)nextOf({"of"});
    const auto flag = numberName();
    if (!flag) fail(begin, "does not say of what: write e.g. 14..20 mm deep, or edge depth 14..20");
    return addRange(*flag, *limit), true;
  }

  bool colour() {
    const std::size_t begin = at_;
    std::string name;
    for (const char* modifier : kModifiers)
      if (next(modifier)) name = modifier + std::string(" ");
    for (const char* term : kTerms)
      if (next(term)) return query_.add_colours(name + term), true;
    if (next("gray")) return query_.add_colours(name + "grey"), true;
    at_ = begin;
    return false;
  }

  bool gripWord() {
    for (const std::string word : kGripWords)
      if (next(word) || next(word + "s") || next(word + "es")) return query_.add_words(word), true;
    return false;
  }

  bool filler() {
    return std::any_of(kFillers.begin(), kFillers.end(), [&](const char* f) { return next(f); });
  }

  std::optional<std::string> numberName() {
    for (const Named& name : numberNames())
      if (next(name.phrase)) return name.flag;
    return std::nullopt;
  }

  bool numberNameFollows() {
    const std::size_t begin = at_;
    const bool follows = numberName().has_value();
    at_ = begin;
    return follows;
  }

  /// "14mm" without its unit; what the unit multiplies by is kept for the value.
  std::string trimUnit(std::string text) {
    for (const auto& [unit, factor] :
         {std::pair{"mm", 1.0}, {"cm", 10.0}, {"deg", 1.0}, {"°", 1.0}})
      if (text.size() > std::string(unit).size() && text.ends_with(unit) &&
          !std::isalpha(
              static_cast<unsigned char>(text[text.size() - std::string(unit).size() - 1]))) {
        factor_ = factor;
        return text.substr(0, text.size() - std::string(unit).size());
      }
    return text;
  }

  static std::optional<double> plainNumber(const std::string& text) {
    constexpr std::array kCounts = {"zero", "one", "two", "three", "four", "five", "six"};
    for (std::size_t i = 1; i < kCounts.size(); ++i)
      if (text == kCounts[i]) return static_cast<double>(i);
    return parseNumber(text);
  }

  /// A value at the reading place, which it passes over; nullopt and unmoved where there is none.
  std::optional<Value> value() {
    const std::size_t begin = at_;
    factor_ = 1;
    const bool least = nextOf({"over", "above", "more than", "at least", "from", ">=", ">"});
    const bool most =
        !least && nextOf({"under", "below", "less than", "at most", "up to", "<=", "<"});
    if (!least && !most) (void)nextOf({"about", "around", "exactly"});
    if (at_ == words_.size()) return at_ = begin, std::nullopt;
    Value value;
    const std::string text = trimUnit(words_[at_].lower);
    const std::size_t dots = text.find("..");
    const std::size_t spread = std::min(text.find("±"), text.find("+-"));
    if (const auto one = plainNumber(text)) {
      ++at_;
      value = {one, one, true};
      if (!least && !most && nextOf({"to", "-"})) {
        const auto other =
            at_ < words_.size() ? plainNumber(trimUnit(words_[at_].lower)) : std::nullopt;
        if (!other) fail(at_, "is no number: a range ends with one, e.g. 14 to 20");
        ++at_;
        value = {one, other, false};
      } else if (nextOf({"±", "+-"})) {
        const double by = single("how much");
        value = {*one - by, *one + by, false};
      }
    } else if (dots != std::string::npos || spread != std::string::npos) {
      Range range;  // Any number's will do: both ends are given.
      try {
        range = parseRange("edge-depth", text);
      } catch (const BadInput&) {
        fail(at_, "is no range: write 12..20, 12.. or more, ..20 or less");
      }
      ++at_;
      if (range.has_from()) value.from = range.from();
      if (range.has_to()) value.to = range.to();
    } else {
      return at_ = begin, std::nullopt;
    }
    readUnit();
    if (value.alone && (least || next("or more"))) value = {value.from, std::nullopt, false};
    if (value.alone && (most || next("or less"))) value = {std::nullopt, value.to, false};
    if (value.from) *value.from *= factor_;
    if (value.to) *value.to *= factor_;
    return value;
  }

  void readUnit() {
    if (next("cm")) factor_ = 10;
    (void)nextOf({"mm", "deg", "degree", "degrees", "°", "cm²", "cm³"});
  }

  double single(const std::string& what) {
    const std::size_t at = at_;
    const auto number =
        at_ < words_.size() ? plainNumber(trimUnit(words_[at_].lower)) : std::nullopt;
    if (!number)
      fail(at,
           at < words_.size() ? "should be " + what : "comes too early: " + what + " is missing");
    ++at_;
    readUnit();
    return *number;
  }

  void addRange(const std::string& flag, const Value& value) {
    const NumberKind& kind = *numberKind(flag);
    Range& range = *query_.add_ranges();
    range.set_number(flag);
    // Fingers are counted; of anything else a single number means about that much.
    const double slack = value.alone && kind.unit[0] != '\0' ? kind.tolerance : 0;
    if (value.from) range.set_from(*value.from - slack);
    if (value.to && !(value.alone && kind.unit[0] == '\0')) range.set_to(*value.to + slack);
    if (range.has_from() && range.has_to() && range.from() > range.to())
      fail(at_ - 1, "ends an empty range: write the smaller number first");
  }

  /// ": did you mean purple?" where a known word is near, else what could stand there.
  std::string suggestion() const {
    std::vector<std::string> known(kTerms.begin(), kTerms.end());
    known.insert(known.end(), kGripWords.begin(), kGripWords.end());
    for (const char* word : {"shelf", "bin", "set", "named", "turned", "pulled", "foot",
                             "undercling", "lip like", "retired", "within", "vertical"})
      known.emplace_back(word);
    for (const Named& name : numberNames()) known.push_back(name.phrase);
    const std::string& word = words_[at_].lower;
    std::size_t least = std::max<std::size_t>(1, word.size() / 3) + 1;
    std::string nearest;
    for (const std::string& candidate : known)
      if (const std::size_t d = editDistance(word, candidate); d < least)
        least = d, nearest = candidate;
    return nearest.empty()
               ? ": say e.g. red, edge, edge depth 14..20, bin A3, on the shelf or lip like "
                 "H-0123"
               : ": did you mean " + nearest + "?";
  }

  const std::string& line_;
  std::vector<Word> words_;
  Query& query_;
  std::size_t at_ = 0;
  double factor_ = 1;
};

}  // namespace

void addQueryLine(const std::string& line, Query& query) { LineReader(line, query).read(); }

}  // namespace holdshelf
