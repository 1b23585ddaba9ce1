// SPDX-License-Identifier: Apache-2.0
#include "catalog/search_marks.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <span>
#include <string_view>

#include "catalog/colour.h"
#include "catalog/name_limits.h"

namespace holdshelf {
namespace {

constexpr std::size_t kLongestPart = 3;  // Of a name, bytes.
constexpr int kLastStep = 250;           // Larger numbers share it, as those below the first do.
constexpr std::size_t kMostMarks = 600;  // In a limit; more would be slower than no index.
constexpr std::size_t kMostSteps = 100;  // In a range; a wider one excludes little.
constexpr double kForceStep = 0.05;      // Of a large jug.
constexpr float kSlack = 0.011F;         // As rows are kept in steps of 1/50, and float rounding.
constexpr double kInfinity = std::numeric_limits<double>::infinity();

/// What a mark is of; the first byte of what is hashed.
enum class Of : char {
  Text = 't',
  Bin = 'b',
  Set = 's',
  Site = 'p',
  Colour = 'c',
  Word = 'w',
  Number = 'n',
  Edge = 'e',
  Hand = 'h',
  Foot = 'f',
};

/// FNV-1a (Fowler, Noll, Vo), 32 bits.
std::int32_t mark(Of of, std::string_view bytes) {
  std::uint32_t hash = 2'166'136'261U;
  const auto add = [&](char byte) {
    hash = (hash ^ static_cast<unsigned char>(byte)) * 16'777'619U;
  };
  add(static_cast<char>(of));
  for (const char byte : bytes) add(byte);
  return static_cast<std::int32_t>(hash);
}

std::int32_t mark(Of of, std::initializer_list<int> numbers) {
  std::string bytes;
  for (const int number : numbers) bytes += static_cast<char>(number);
  return mark(of, bytes);
}

template <std::size_t N>
int placeAmong(const std::array<double, N>& ends, double value) {
  return static_cast<int>(std::upper_bound(ends.begin(), ends.end(), value) - ends.begin());
}

/// Where the steps of an edge's three numbers end, finer where holds differ in use.
constexpr std::array<double, 17> kDepthEnds_mm = {6,  8,  10, 12, 14, 16, 18, 20, 22,
                                                  25, 28, 32, 36, 40, 45, 50, 65};
constexpr std::array<double, 13> kRadiusEnds_mm = {1, 1.5, 2, 2.5, 3, 4, 5, 6.5, 8, 10, 12, 16, 20};
constexpr std::array<double, 11> kIncutEnds_deg = {-30, -20, -15, -10, -5, 0, 5, 10, 15, 20, 30};
constexpr int kNotMeasured = 100;  // The step of such a number, which fits no limit.
// People ask for edges from, and radii up to, round numbers: these ends lie just beside them.
constexpr double kBeside = 0.05;

struct EdgeNumber {
  const char* flag;
  int steps;
  int (*step)(double);
};
constexpr std::array<EdgeNumber, 3> kEdgeNumbers = {{
    {"edge-depth", static_cast<int>(kDepthEnds_mm.size()) + 1,
     [](double value) { return placeAmong(kDepthEnds_mm, value + kBeside); }},
    {"lip-radius", static_cast<int>(kRadiusEnds_mm.size()) + 1,
     [](double value) { return placeAmong(kRadiusEnds_mm, value - kBeside); }},
    {"incut", static_cast<int>(kIncutEnds_deg.size()) + 1,
     [](double value) { return placeAmong(kIncutEnds_deg, value + kBeside); }},
}};

const EdgeNumber* edgeNumber(const NumberKind& kind) {
  const auto found =
      std::find_if(kEdgeNumbers.begin(), kEdgeNumbers.end(),
                   [&](const EdgeNumber& n) { return std::string_view(n.flag) == kind.flag; });
  return found == kEdgeNumbers.end() ? nullptr : &*found;
}

/// Of numbers that a hold has once, a finer step costs nothing.
double stepOf(const NumberKind& kind) {
  return kind.group == NumberGroup::Hold ? kind.tolerance / 5 : kind.tolerance;
}

/// People ask for round numbers, which therefore lie in the middle of a step.
int numberStep(const NumberKind& kind, double value) {
  // Angles go below 0, lengths do not.
  const int first = std::string_view(kind.unit) == "°" ? -kLastStep / 2 : 0;
  return static_cast<int>(std::clamp(std::floor(value / stepOf(kind) + 0.5),
                                     static_cast<double>(first),
                                     static_cast<double>(first + kLastStep))) -
         first;
}

int kindIndex(const NumberKind& kind) { return static_cast<int>(&kind - numberKinds().data()); }

/// All parts of a text of exactly so many bytes.
void addParts(const std::string& text, std::size_t size, std::vector<std::int32_t>& marks) {
  for (std::size_t at = 0; at + size <= text.size(); ++at)
    marks.push_back(mark(Of::Text, std::string_view(text).substr(at, size)));
}

void addEdges(const NumberTable& table, std::vector<std::int32_t>& marks) {
  const std::size_t columns = columnCount(NumberGroup::Grip);
  std::array<std::size_t, kEdgeNumbers.size()> column{};
  for (std::size_t i = 0; i < column.size(); ++i)
    column[i] = numberKind(kEdgeNumbers[i].flag)->column;
  for (std::size_t row = 0; row < table.rows; ++row) {
    std::array<int, kEdgeNumbers.size()> step{};
    for (std::size_t i = 0; i < step.size(); ++i) {
      const float value = table.values[row * columns + column[i]];
      step[i] = std::isnan(value) ? kNotMeasured : kEdgeNumbers[i].step(value);
    }
    marks.push_back(mark(Of::Edge, {step[0], step[1], step[2]}));
  }
}

void addNumbers(const HoldNumbers& numbers, std::vector<std::int32_t>& marks) {
  for (const NumberKind& kind : numberKinds()) {
    if (edgeNumber(kind) != nullptr) continue;
    const NumberTable& table = numbers.at(static_cast<std::size_t>(kind.group));
    for (std::size_t row = 0; row < table.rows; ++row) {
      const float value = table.values[row * columnCount(kind.group) + kind.column];
      if (!std::isnan(value))
        marks.push_back(mark(Of::Number, {kindIndex(kind), numberStep(kind, value)}));
    }
  }
  addEdges(numbers.at(static_cast<std::size_t>(NumberGroup::Grip)), marks);
}

int forceStep(double fraction) { return static_cast<int>(std::floor(fraction / kForceStep)); }

void addUse(const MostUse& use, std::vector<std::int32_t>& marks) {
  for (std::size_t wall = 0; wall < MostUse::kWallAngles; ++wall) {
    const int w = static_cast<int>(wall);
    if (use.hand[wall] > 0)
      marks.push_back(mark(Of::Hand, {w, forceStep(use.hand[wall] / MostUse::kUnit)}));
    if (use.foot[wall] > 0) marks.push_back(mark(Of::Foot, {w}));
  }
}

void sortOut(std::vector<std::int32_t>& marks) {
  std::sort(marks.begin(), marks.end());
  marks.erase(std::unique(marks.begin(), marks.end()), marks.end());
}

// Limits, each of which is left out where it has no marks or too many.

using Limits = std::vector<MarkLimit>;

void add(Limits& limits, MarkLimit::Need need, std::vector<std::int32_t> marks) {
  sortOut(marks);
  if (!marks.empty() && marks.size() <= kMostMarks) limits.push_back({need, std::move(marks)});
}

void addAnyName(Limits& limits, Of of,
                const google::protobuf::RepeatedPtrField<std::string>& names) {
  std::vector<std::int32_t> marks;
  for (const std::string& name : names) marks.push_back(mark(of, caseless(name)));
  add(limits, MarkLimit::Need::Any, std::move(marks));
}

/// Parts that overlap by one byte say nearly as much as all of them, and are found in half the
/// time.
void addTextLimit(Limits& limits, const std::string& wanted) {
  const std::string text = caseless(wanted);
  const std::size_t size = std::min(text.size(), kLongestPart);
  std::vector<std::int32_t> marks;
  for (std::size_t at = 0; size > 0 && at + size <= text.size(); at += 2)
    marks.push_back(mark(Of::Text, std::string_view(text).substr(at, size)));
  if (size > 0) marks.push_back(mark(Of::Text, std::string_view(text).substr(text.size() - size)));
  add(limits, MarkLimit::Need::All, std::move(marks));
}

double least(const Range& range) { return range.has_from() ? range.from() - kSlack : -kInfinity; }
double most(const Range& range) { return range.has_to() ? range.to() + kSlack : kInfinity; }

void addNumberLimit(Limits& limits, const NumberKind& kind, const Range& range) {
  std::vector<std::int32_t> marks;
  for (int step = numberStep(kind, least(range)); step <= numberStep(kind, most(range)); ++step)
    marks.push_back(mark(Of::Number, {kindIndex(kind), step}));
  if (marks.size() <= kMostSteps) add(limits, MarkLimit::Need::Any, std::move(marks));
}

/// Every combination of steps that an edge within all the limits may have.
void addEdgeLimit(Limits& limits, const Query& query) {
  constexpr std::size_t kCount = kEdgeNumbers.size();
  std::array<std::vector<int>, kCount> steps;
  bool limited = false;
  for (std::size_t i = 0; i < kCount; ++i) {
    double from = -kInfinity, to = kInfinity;
    bool asked = false;
    for (const Range& range : query.ranges()) {
      if (range.number() != kEdgeNumbers[i].flag) continue;
      from = std::max(from, least(range));
      to = std::min(to, most(range));
      asked = limited = true;
    }
    for (int step = kEdgeNumbers[i].step(from); step <= kEdgeNumbers[i].step(to); ++step)
      steps[i].push_back(step);
    if (!asked) steps[i].push_back(kNotMeasured);
  }
  if (!limited) return;
  std::vector<std::int32_t> marks;
  for (const int depth : steps[0])
    for (const int radius : steps[1])
      for (const int incut : steps[2]) marks.push_back(mark(Of::Edge, {depth, radius, incut}));
  add(limits, MarkLimit::Need::Any, std::move(marks));
}

void addUseLimits(Limits& limits, const Query& query) {
  const auto walls = MostUse::beside(query.wall_angle_deg());
  std::vector<std::int32_t> hand, foot;
  for (const std::size_t wall : walls) {
    const int w = static_cast<int>(wall);
    for (int step = std::max(0, forceStep(query.grip_force_from() - 0.01));
         step <= forceStep(255 / MostUse::kUnit); ++step)
      hand.push_back(mark(Of::Hand, {w, step}));
    foot.push_back(mark(Of::Foot, {w}));
  }
  if (query.has_grip_force_from() && query.grip_force_from() > 0.01)
    add(limits, MarkLimit::Need::Any, std::move(hand));
  if (query.foot()) add(limits, MarkLimit::Need::Any, std::move(foot));
}

}  // namespace

std::vector<std::int32_t> searchMarks(const SearchEntry& entry) {
  std::vector<std::int32_t> marks = {
      mark(Of::Bin, caseless(entry.bin)), mark(Of::Set, caseless(entry.set)),
      mark(Of::Site, caseless(entry.site)), mark(Of::Colour, caseless(entry.colour)),
      mark(Of::Colour, caseless(basicTerm(entry.colour)))};
  for (const std::string& text : {caseless(entry.name), caseless(entry.id)})
    for (std::size_t size = 1; size <= kLongestPart; ++size) addParts(text, size, marks);
  for (const GripWord& word : entry.row.words) marks.push_back(mark(Of::Word, word.word()));
  addNumbers(entry.row.numbers, marks);
  addUse(entry.most_use, marks);
  sortOut(marks);
  return marks;
}

std::vector<MarkLimit> markLimits(const Query& query) {
  Limits limits;
  addAnyName(limits, Of::Bin, query.bins());
  addAnyName(limits, Of::Set, query.sets());
  addAnyName(limits, Of::Site, query.sites());
  addAnyName(limits, Of::Colour, query.colours());
  addTextLimit(limits, query.text());
  for (const std::string& word : query.words())
    add(limits, MarkLimit::Need::All, {mark(Of::Word, word)});
  for (const Range& range : query.ranges())
    if (const NumberKind* kind = numberKind(range.number()); kind && edgeNumber(*kind) == nullptr)
      addNumberLimit(limits, *kind, range);
  addEdgeLimit(limits, query);
  addUseLimits(limits, query);
  return limits;
}

}  // namespace holdshelf
