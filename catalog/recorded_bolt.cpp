// SPDX-License-Identifier: Apache-2.0
#include "catalog/recorded_bolt.h"

#include <algorithm>
#include <cstdlib>
#include <regex>
#include <sstream>

#include "catalog/measured_text.h"
#include "catalog/screw_advice.h"
#include "catalog/shown_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr double kLookAt = 1, kWrong = 10;  ///< Severities: a word to look at; surely wrong.
/// Bytes. The matcher goes back over a text, so that a long one would take long.
constexpr std::size_t kLongestRead = 80;

BoltFault notJudged(const std::string& text, const std::string& why) {
  return {"not judged", kLookAt,
          "\"" + shownStart(text, kLongestRead) + "\" is recorded and cannot be judged: " + why};
}

/// Without blanks around it, and with one where there were several: two parts of an expression that
/// take blanks would share them out in every way there is.
std::string withSingleBlanks(const std::string& text) {
  std::istringstream words(text);
  std::string line;
  for (std::string word; words >> word;) line += (line.empty() ? "" : " ") + word;
  return line;
}

std::string joined(const BoltAdvice& advice) {
  std::string all;
  for (const std::string& warning : advice.warnings()) all += " " + warning;
  return all;
}

/// The name that T-nuts have for a thread as it was written; nullopt: none here have it.
std::optional<Thread> threadOf(const std::string& written) {
  try {
    return threadFromText(written);
  } catch (const BadInput&) {
    return std::nullopt;
  }
}

/// A screw that is surely thicker than a hole was not put through it.
std::optional<BoltFault> judgeShank(const std::string& said, double screw_mm,
                                    const std::vector<BoltSeat>& seats,
                                    const BoltSettings& settings) {
  for (const BoltSeat& seat : seats)
    if (const Measured& bore = seat.bore_mm();
        bore.value() > 0 && screw_mm > bore.value() + settings.confidence * bore.sigma())
      return BoltFault{"too thick", kWrong + screw_mm - bore.value(),
                       said + "too thick; a screw hole is " + measuredText(bore, "mm") + " wide."};
  return std::nullopt;
}

std::optional<BoltFault> judgeScrews(const std::string& text, const RecordedBolt& screws,
                                     const BoltQuestion& question, const BoltSettings& settings) {
  const std::string said = "\"" + text + "\" is recorded: ";
  if (boltSeatOf(question.seats) != nullptr)
    return BoltFault{
        "no bolt", 2 * kWrong,
        said +
            "screws only; the hold has a bolt seat, and screws in its other holes only "
            "keep it from turning."};
  const auto seats = screwSeats(question.seats);
  if (seats.empty()) return notJudged(text, "no screw hole was measured.");
  double lowest_mm = seats.front().seat_height_mm().value(), highest_mm = lowest_mm;
  for (const BoltSeat& seat : seats) {
    lowest_mm = std::min(lowest_mm, seat.seat_height_mm().value());
    highest_mm = std::max(highest_mm, seat.seat_height_mm().value());
  }
  if (auto fault = judgeShank(said, screws.screw_mm, seats, settings)) return fault;
  const double left_mm = lowest_mm + question.panel.panel_mm() - screws.length.length_mm;
  const double holds_mm = screws.length.length_mm - highest_mm;
  if (left_mm < settings.screw_tip_mm - kSameLength_mm)
    return BoltFault{
        "too long", kWrong + settings.screw_tip_mm - left_mm,
        said + "too long; " +
            (left_mm < 0 ? "the tip comes " + mmText(-left_mm) + " out of the panel's back"
                         : "the tip leaves " + mmText(left_mm) + " of the panel") +
            ", " + mmText(settings.screw_tip_mm) + " are wanted."};
  if (holds_mm < settings.screw_hold_mm - kSameLength_mm)
    return BoltFault{"too short", kWrong + settings.screw_hold_mm - holds_mm,
                     said + "too short; it holds " + mmText(holds_mm) + " in the panel, " +
                         mmText(settings.screw_hold_mm) + " are wanted."};
  const int holes = static_cast<int>(seats.size());
  if (screws.screws_counted && screws.screws < std::min(holes, settings.least_screws))
    return BoltFault{"too few", kWrong,
                     said + "the piece has " + std::to_string(holes) + " screw holes, and " +
                         std::to_string(settings.least_screws) +
                         " screws or more keep it from turning."};
  return std::nullopt;
}

/// How the length does in the T-nut, worst first.
std::optional<BoltFault> judgeInTnut(const std::string& text, const BoltAdvice& judged,
                                     const BoltQuestion& question, const BoltSettings& settings) {
  const std::string said = "\"" + text + "\" is recorded:" + joined(judged);
  const double enough_mm = enoughEngagement_mm(boltSeries(question.panel.thread()), settings);
  const double lacks_mm = enough_mm - judged.engagement_mm();
  if (question.panel.barrel_mm() < enough_mm - kSameLength_mm)
    return BoltFault{"short T-nut", kWrong + lacks_mm, said};
  if (lacks_mm > kSameLength_mm) return BoltFault{"too short", kWrong + lacks_mm, said};
  const double past_mm = judged.past_mm() - settings.past_limit_mm;
  if (past_mm > kSameLength_mm) return BoltFault{"too long", kWrong + past_mm, said};
  const double short_mm = question.panel.barrel_mm() - judged.engagement_mm() -
                          settings.confidence * judged.seat_height_mm().sigma();
  if (short_mm > kSameLength_mm) return BoltFault{"does not fill", kLookAt + short_mm, said};
  if (judged.warnings_size() > (judged.fills_tnut() ? 0 : 1))
    return BoltFault{"does not match", kLookAt, said};
  return std::nullopt;
}

}  // namespace

std::optional<RecordedBolt> readBolt(const std::string& text) {
  static const std::regex screw(
      R"((?:(\d{1,4}) ?(?:x|×|\*)? ?)?(?:wood ?)?screws? (\d{1,4}(?:\.\d+)?) ?(?:x|×|\*) ?(\d{1,4}(?:\.\d+)?) ?(?:mm)?)",
      std::regex::icase);
  static const std::regex bolt(
      R"((?:\d+ ?(?:x|×|\*) ?)?(M\d+|\d+/\d+(?:-\d+)?) ?(?:UNC)? ?(?:(?:x|×|\*) ?1\.5 ?)?(?:x|×|\*) ?(\d+(?:\.\d+)?(?:[ -]\d+/\d+)?|\d+/\d+) ?(mm|in|inch|")?,? ?(cap|countersunk)?(?: ?head)?)",
      std::regex::icase);
  if (text.size() > kLongestRead) return std::nullopt;
  const std::string line = withSingleBlanks(text);
  std::smatch match;
  RecordedBolt read;
  if (std::regex_match(line, match, screw)) {
    read.screws_counted = match[1].matched;
    read.screws = read.screws_counted ? std::atoi(match[1].str().c_str()) : 1;
    read.screw_mm = std::atof(match[2].str().c_str());
    read.length = {std::atof(match[3].str().c_str()), match[3].str()};
    return read;
  }
  if (!std::regex_match(line, match, bolt)) return std::nullopt;
  read.thread = match[1].str();
  const auto thread = threadOf(read.thread);
  std::string length = match[2].str(), unit = match[3].str();
  std::replace(length.begin(), length.end(), '-', ' ');
  const bool inch = read.thread.find('/') != std::string::npos;
  // A length in the other thread's unit is a slip of the pen that nobody should guess at.
  if (!unit.empty() && inch == (unit == "mm" || unit == "MM")) return std::nullopt;
  try {
    read.length = {boltLength_mm(thread.value_or(inch ? INCH_3_8_16 : M10), length), length};
  } catch (const BadInput&) {
    return std::nullopt;
  }
  const std::string head = match[4].str();
  if (!head.empty()) read.head = head[1] == 'o' || head[1] == 'O' ? COUNTERSUNK : CAP;
  return read;
}

std::optional<BoltFault> judgeRecorded(const std::string& text, const BoltQuestion& question,
                                       const BoltSettings& settings) {
  const auto read = readBolt(text);
  if (!read)
    return notJudged(text,
                     "write it as \"M10 × 55\", \"3/8-16 × 2 1/4 in countersunk\" or "
                     "\"2 screws 5 × 16\".");
  if (read->screws > 0 || read->screws_counted) return judgeScrews(text, *read, question, settings);
  const char* wanted = boltSeries(question.panel.thread()).name;
  if (threadOf(read->thread) != question.panel.thread())
    return BoltFault{"wrong thread", 2 * kWrong,
                     "\"" + text + "\" is recorded: wrong thread; the panel's T-nuts are " +
                         wanted + ", never force a bolt of another."};
  if (boltSeatOf(question.seats) == nullptr && !screwSeats(question.seats).empty())
    return notJudged(text, "the scan shows screw holes only.");
  BoltQuestion asked = question;
  asked.head = read->head;
  const BoltAdvice judged = judgeBolt(asked, settings, read->length);
  if (judged.length().empty()) return notJudged(text, "the seat was not measured.");
  return judgeInTnut(text, judged, question, settings);
}

}  // namespace holdshelf
