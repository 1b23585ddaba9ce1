// SPDX-License-Identifier: Apache-2.0
#include "catalog/query_line.h"

#include <algorithm>
#include <array>
#include <string>
#include <vector>

#include "catalog/colour.h"
#include "catalog/edit_distance.h"
#include "catalog/hold_numbers.h"
#include "catalog/line_value.h"
#include "catalog/line_words.h"
#include "catalog/number_names.h"
#include "catalog/query_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr std::array kTerms = {"black", "white", "grey",   "red",  "orange", "yellow",
                               "green", "blue",  "purple", "pink", "brown"};
constexpr std::array kModifiers = {"light", "dark", "pale", "deep", "vivid"};
constexpr std::array kGripWords = {"jug",    "edge",  "crimp",    "pocket",
                                   "sloper", "pinch", "foot-only"};
constexpr std::array kFillers = {"a",     "an", "the",  "and",   "with", "of",  "in", "is", "hold",
                                 "holds", "on", "that", "which", "but",  "for", "at", "or"};

class LineReader {
 public:
  LineReader(const std::string& line, Query& query) : words_(line), query_(query) {}

  void read() {
    while (!words_.atEnd())
      if (!fixedPhrase() && !named() && !lip() && !order() && !mounting() && !number() &&
          !colour() && !gripWord() && !filler())
        words_.fail(words_.at(), "is not understood" + suggestion());
  }

 private:
  bool fixedPhrase() {
    if (words_.nextOf({"on the shelf", "on shelf", "shelved"}))
      return query_.add_statuses(SHELF), true;
    if (words_.nextOf({"in a crate", "in crates", "crated"}))
      return query_.add_statuses(CRATE), true;
    if (words_.nextOf({"on the wall", "on walls"})) return query_.add_statuses(WALL), true;
    if (words_.nextOf({"in the wash", "washing"})) return query_.add_statuses(WASH), true;
    if (words_.nextOf({"needs a look", "need a look"}))
      return query_.add_statuses(NEEDS_LOOK), true;
    if (words_.next("retired")) return query_.add_statuses(RETIRED), true;
    if (words_.nextOf({"foot-only", "foot only"})) return query_.add_words("foot-only"), true;
    if (words_.nextOf({"foot", "foothold", "footholds", "feet", "not too grabbable"}))
      return query_.set_foot(true), true;
    if (words_.next("vertical")) return query_.set_wall_angle_deg(0), true;
    if (words_.nextOf({"undercling", "pulled up"})) return query_.set_pull_deg(180), true;
    if (words_.nextOf({"side pull", "sidepull", "pulled left"}))
      return query_.set_pull_deg(-90), true;
    if (words_.next("pulled right")) return query_.set_pull_deg(90), true;
    if (words_.next("pulled down")) return query_.set_pull_deg(0), true;
    return false;
  }

  bool named() {
    if (words_.next("bin")) return query_.add_bins(words_.take("the bin")), true;
    if (words_.next("set")) return query_.add_sets(words_.take("the set")), true;
    if (words_.nextOf({"named", "name"}))
      return query_.set_text(words_.take("part of the name")), true;
    if (words_.nextOf({"patch", "colour like"})) {
      const std::size_t at = words_.at();
      const std::string hex = words_.take("a colour such as #be0032");
      try {
        const Lab lab = labFromHex(hex);
        for (const double value : {lab.L, lab.a, lab.b}) query_.add_lab(value);
      } catch (const BadInput&) {
        words_.fail(at, "is no colour: write six hex digits such as #be0032");
      }
      return true;
    }
    return false;
  }

  bool lip() {
    if (words_.nextOf({"lip like", "lip of like", "like the lip of", "like"})) {
      (void)words_.next("the lip of");
      query_.mutable_lip()->set_like(words_.take("the id of a hold"));
      if (words_.nextOf({"at rotation", "at its rotation"}))
        query_.mutable_lip()->set_like_rotation_deg(takeNumber(words_, "a rotation such as 30"));
      return true;
    }
    if (words_.nextOf({"lip shaped", "lip shape"})) {
      LipQuery& lip = *query_.mutable_lip();
      for (;;) {
        if (words_.next("radius"))
          lip.set_radius_mm(takeNumber(words_, "the radius in mm"));
        else if (words_.next("incut"))
          lip.set_incut_deg(takeNumber(words_, "the incut in degrees"));
        else if (words_.nextOf({"depth", "deep"}))
          lip.set_depth_mm(takeNumber(words_, "the depth in mm"));
        else
          break;
      }
      if (!lip.has_radius_mm())
        words_.fail(words_.at(), "comes too early: a lip shape needs a radius");
      return true;
    }
    if (words_.next("within")) {
      const std::size_t at = words_.at();
      const double mm = takeNumber(words_, "a gap in mm");
      if (!query_.has_lip())
        words_.fail(at, "says how near a lip must be, but no lip is wanted before it");
      if (!(mm > 0)) words_.fail(at, "is no gap: write a length above 0 mm");
      query_.mutable_lip()->set_within_mm(mm);
      return true;
    }
    return false;
  }

  bool order() {
    if (words_.next("deepest first")) return query_.set_sort("-edge-depth"), true;
    if (words_.next("lowest first")) return query_.set_sort("protrusion"), true;
    if (words_.nextOf({"sorted by", "sort by"})) {
      const std::size_t at = words_.at();
      const bool falling = words_.dropLead('-');
      std::string key = words_.lower();
      if (const auto flag = takeNumberName(words_)) {
        key = *flag;
      } else if (key == "id" || key == "name" || key == "colour-distance") {
        words_.skip();
      } else {
        words_.fail(at, "is nothing to sort by: write a number such as edge depth, id or name");
      }
      return query_.set_sort((falling ? "-" : "") + key), true;
    }
    if (words_.nextOf({"show", "limit"})) {
      const std::size_t at = words_.at();
      const double count = takeNumber(words_, "a number of holds");
      if (!(count >= 1 && count < 1e6)) words_.fail(at, "is no number of holds");
      return query_.set_limit(static_cast<int>(count)), true;
    }
    return false;
  }

  bool mounting() {
    const std::size_t begin = words_.at();
    if (words_.nextOf({"turned", "rotation", "rotated"})) {
      (void)words_.next("to");
      const std::size_t at = words_.at();
      std::string range = withoutUnit(words_.take("a range of rotations such as 60..120"));
      if (words_.next("to")) range += ".." + withoutUnit(words_.take("the last rotation"));
      (void)words_.nextOf({"deg", "degrees", "°"});
      try {
        setRotation(query_, range);
      } catch (const BadInput&) {
        words_.fail(at, "is no range of rotations: write 60..120, or 330..30 through zero");
      }
      return true;
    }
    if (words_.next("pulled"))
      return query_.set_pull_deg(takeNumber(words_, "left, right, up, down or degrees")), true;
    if (words_.nextOf({"slab of", "slab"}))
      return query_.set_wall_angle_deg(-takeNumber(words_, "its degrees")), true;
    if (words_.nextOf({"wall angle", "wall of", "wall"}))
      return query_.set_wall_angle_deg(takeNumber(words_, "degrees past vertical")), true;
    if (words_.nextOf({"grip force", "grips with", "force"})) {
      const std::size_t at = words_.at();
      const auto force = takeValue(words_);
      if (!force)
        words_.fail(at, "is no force: write a fraction of a large jug, e.g. grip force over 0.4");
      constexpr double kTolerance = 0.05;
      if (force->from) query_.set_grip_force_from(*force->from - (force->alone ? kTolerance : 0));
      if (force->to) query_.set_grip_force_to(*force->to + (force->alone ? kTolerance : 0));
      (void)words_.next("of a jug");
      return true;
    }
    if (words_.next("at")) {
      const auto angle = takeValue(words_);
      // "at 20 mm deep" says a number, "at 30 deg" a wall.
      if (angle && angle->alone && !numberNameFollows(words_)) {
        (void)words_.nextOf({"past vertical", "overhang", "wall"});
        return query_.set_wall_angle_deg(*angle->from), true;
      }
      words_.goTo(begin);
    }
    return false;
  }

  bool number() {
    const std::size_t begin = words_.at();
    if (const auto flag = takeNumberName(words_)) {
      (void)words_.nextOf({"of", "is"});
      if (const auto limit = takeValue(words_)) return addRange(*flag, *limit), true;
      words_.goTo(begin);
      return false;
    }
    auto limit = takeValue(words_);
    if (!limit) return false;
    if (words_.nextOf({"wall", "overhang", "past vertical"})) {
      if (!limit->alone) words_.fail(begin, "is no wall angle: write one number, e.g. 30 deg wall");
      return query_.set_wall_angle_deg(*limit->from), true;
    }
    (void)words_.nextOf({"of"});
    const auto flag = takeNumberName(words_);
    if (!flag)
      words_.fail(begin, "does not say of what: write e.g. 14..20 mm deep, or edge depth 14..20");
    return addRange(*flag, *limit), true;
  }

  bool colour() {
    const std::size_t begin = words_.at();
    std::string name;
    for (const char* modifier : kModifiers)
      if (words_.next(modifier)) name = modifier + std::string(" ");
    for (const char* term : kTerms)
      if (words_.next(term)) return query_.add_colours(name + term), true;
    if (words_.next("gray")) return query_.add_colours(name + "grey"), true;
    words_.goTo(begin);
    return false;
  }

  bool gripWord() {
    for (const std::string word : kGripWords)
      if (words_.next(word) || words_.next(word + "s") || words_.next(word + "es"))
        return query_.add_words(word), true;
    return false;
  }

  bool filler() {
    return std::any_of(kFillers.begin(), kFillers.end(),
                       [&](const char* f) { return words_.next(f); });
  }

  void addRange(const std::string& flag, const LineValue& value) {
    const NumberKind& kind = *numberKind(flag);
    Range& range = *query_.add_ranges();
    range.set_number(flag);
    // Fingers are counted; of anything else a single number means about that much.
    const double slack = value.alone && kind.unit[0] != '\0' ? kind.tolerance : 0;
    if (value.from) range.set_from(*value.from - slack);
    if (value.to && !(value.alone && kind.unit[0] == '\0')) range.set_to(*value.to + slack);
    if (range.has_from() && range.has_to() && range.from() > range.to())
      words_.fail(words_.at() - 1, "ends an empty range: write the smaller number first");
  }

  /// ": did you mean purple?" where a known word is near, else what could stand there.
  std::string suggestion() const {
    std::vector<std::string> known(kTerms.begin(), kTerms.end());
    known.insert(known.end(), kGripWords.begin(), kGripWords.end());
    for (const char* word : {"shelf", "bin", "set", "named", "turned", "pulled", "foot",
                             "undercling", "lip like", "retired", "within", "vertical"})
      known.emplace_back(word);
    for (const NumberName& name : numberNames()) known.push_back(name.phrase);
    const std::string word = words_.lower();
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

  LineWords words_;
  Query& query_;
};

}  // namespace

void addQueryLine(const std::string& line, Query& query) { LineReader(line, query).read(); }

}  // namespace holdshelf
