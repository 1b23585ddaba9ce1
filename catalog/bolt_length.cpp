// SPDX-License-Identifier: Apache-2.0
#include "catalog/bolt_length.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <map>
#include <stdexcept>

#include "catalog/hold_record.h"
#include "catalog/measured_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr double kInch_mm = 25.4;
constexpr double kRounding_mm = 1e-6;  ///< Sums of lengths that are equal on paper.

/// Wood screws; from memory, as sold.
constexpr int kScrews_mm[] = {16, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 120};

std::string mm(double value) { return decimalText(value, 1) + " mm"; }

/// A bag holds both heads of one length: the label keeps them apart.
std::string labelOf(const BoltSeries& series, const StockedLength& length, BoltHead head) {
  return std::string(series.name) + " × " + length.text + (series.inch ? " in" : "") +
         (head == COUNTERSUNK ? " countersunk" : "");
}

BoltHead headOf(const BoltStock& line) { return line.head() == COUNTERSUNK ? COUNTERSUNK : CAP; }

/// Whether a line of the stock is of bolts like these. Its thread is never guessed here.
bool isLike(const BoltStock& line, Thread thread, BoltHead head) {
  return line.count() > 0 && line.thread() == thread && headOf(line) == head;
}

/// The stock with its thread said on every line: where it was left out, the T-nuts' only one.
std::vector<BoltStock> withThreads(std::vector<BoltStock> stock, bool metric, bool inch) {
  for (BoltStock& line : stock) {
    if (line.thread() != THREAD_UNSPECIFIED) continue;
    if (metric && inch)
      throw BadInput("The T-nuts here are M10 and 3/8-16: say which of them the bolts of " +
                     line.length() +
                     " in stock are for, as \"M10 x 55=20\" or \"3/8-16 x 2 1/4=12\".");
    line.set_thread(metric ? M10 : INCH_3_8_16);
  }
  return stock;
}

/// The lengths there are: of the stock where one was said, else of the series.
std::vector<StockedLength> lengthsAtHand(const BoltSeries& series, const BoltSettings& settings,
                                         const std::vector<BoltStock>* stock, BoltHead head) {
  std::vector<StockedLength> lengths;
  if (stock == nullptr) {
    for (const StockedLength& length : series.lengths) {
      const double halves = 2 * length.length_mm / kInch_mm;
      if (!series.inch || !settings.half_inches || std::abs(halves - std::round(halves)) < 1e-9)
        lengths.push_back(length);
    }
    return lengths;
  }
  for (const BoltStock& line : *stock)
    if (isLike(line, series.thread, head))
      lengths.push_back({boltLength_mm(series.thread, line.length()), line.length()});
  std::sort(lengths.begin(), lengths.end(),
            [](const auto& a, const auto& b) { return a.length_mm < b.length_mm; });
  return lengths;
}

double coneHeadHeight_mm(const BoltSeries& series) {
  return (series.cone_diameter_mm - series.diameter_mm) / 2 /
         std::tan(series.cone_deg * M_PI / 360);
}

/// Bore, recess and cone against bolt, head and washer.
void checkHead(const BoltSeat& seat, const BoltSeries& series, const BoltSettings& settings,
               BoltAdvice& advice) {
  const auto surelyBelow = [&](const Measured& m, double limit) {
    return m.value() > 0 && m.value() + settings.confidence * m.sigma() < limit;
  };
  const bool cone = seat.kind() == BoltSeat::CONE, sunk = advice.head() == COUNTERSUNK;
  if (cone && !sunk)
    advice.add_warnings("A cap head does not match a cone seat: use a countersunk bolt.");
  if (!cone && sunk && seat.kind() == BoltSeat::FLAT)
    advice.add_warnings(
        "A countersunk head does not match a flat seat: it wedges the hole open; use a cap head.");
  if (surelyBelow(seat.bore_mm(), series.diameter_mm))
    advice.add_warnings("The bore of " + measuredText(seat.bore_mm(), "mm") + " does not pass " +
                        series.name + ".");
  if (cone && sunk && seat.has_cone_deg() &&
      std::abs(seat.cone_deg().value() - series.cone_deg) >
          settings.cone_tolerance_deg + settings.confidence * seat.cone_deg().sigma())
    advice.add_warnings("The cone opens " + measuredText(seat.cone_deg(), "°") + ", the head is " +
                        decimalText(series.cone_deg, 0) + "°: it would bear on a ring only.");
  if (!cone && surelyBelow(seat.recess_mm(), series.cap_diameter_mm) && !sunk)
    advice.add_warnings("The recess of " + measuredText(seat.recess_mm(), "mm") +
                        " is too narrow for a head of " + mm(series.cap_diameter_mm) + ".");
  else if (advice.washer_mm() > 0 && surelyBelow(seat.recess_mm(), series.washer_diameter_mm))
    advice.add_warnings("The recess of " + measuredText(seat.recess_mm(), "mm") +
                        " is too narrow for a washer of " + mm(series.washer_diameter_mm) + ".");
}

/// What the chosen length does in the T-nut, and what is wrong with that.
void judgeLength(const StockedLength& chosen, const BoltSeries& series, const Panel& panel,
                 const BoltSettings& settings, BoltAdvice& advice) {
  advice.set_length(chosen.text);
  advice.set_length_mm(chosen.length_mm);
  advice.set_label(labelOf(series, chosen, advice.head()));
  const double mouth_mm = advice.through_mm() - panel.flange_mm() - panel.barrel_mm();
  const double inside_mm = chosen.length_mm - mouth_mm;
  advice.set_engagement_mm(std::clamp(inside_mm, 0.0, panel.barrel_mm()));
  advice.set_fills_tnut(inside_mm >= panel.barrel_mm() - kRounding_mm);
  advice.set_past_mm(chosen.length_mm - advice.through_mm());
  const double turns = advice.engagement_mm() / series.pitch_mm;
  const double enough_mm = enoughEngagement_mm(series, settings);
  const bool tnut_too_short = panel.barrel_mm() < enough_mm - kRounding_mm;
  if (tnut_too_short)
    advice.add_warnings("The T-nut's barrel of " + mm(panel.barrel_mm()) + " holds " +
                        decimalText(panel.barrel_mm() / series.pitch_mm, 1) +
                        " turns: too short (" + mm(enough_mm) +
                        " at least); no bolt cures that, it takes another insert.");
  if (!tnut_too_short && advice.engagement_mm() < enough_mm - kRounding_mm)
    advice.add_warnings("Holds " + mm(advice.engagement_mm()) + " of thread, " +
                        decimalText(turns, 1) + " turns: too short to engage (" + mm(enough_mm) +
                        " at least).");
  else if (!advice.fills_tnut())
    advice.add_warnings("Holds " + mm(advice.engagement_mm()) + " of the T-nut's " +
                        mm(panel.barrel_mm()) + ": does not fill it.");
  if (advice.past_mm() > settings.past_limit_mm + kRounding_mm)
    advice.add_warnings("Runs " + mm(advice.past_mm()) +
                        " past the T-nut: too long; it can push the insert out or damage what lies "
                        "behind the panel.");
  if (chosen.length_mm - series.thread_mm > mouth_mm)
    advice.add_warnings("Its plain shank may reach the T-nut before the head clamps (" +
                        mm(series.thread_mm) + " of thread).");
}

/// No length in the stock fits.
void explainNone(const std::vector<StockedLength>& lengths, const BoltSeries& series,
                 const Panel& panel, bool stock, BoltAdvice& advice) {
  std::string text = "No " + std::string(series.name) +
                     (advice.head() == COUNTERSUNK ? " countersunk" : "") + " bolt " +
                     (stock ? "in stock" : "made") + " is " + mm(advice.least_mm()) + " or longer";
  const StockedLength* wanted = shortestFitting(series.lengths, advice.least_mm());
  if (stock && wanted != nullptr) text += ": get " + labelOf(series, *wanted, advice.head());
  if (!lengths.empty()) {
    const double mouth_mm = advice.through_mm() - panel.flange_mm() - panel.barrel_mm();
    text += "; the longest, " + lengths.back().text + ", would hold " +
            mm(std::max(0.0, lengths.back().length_mm - mouth_mm)) + " of thread";
  }
  advice.add_warnings(text + ".");
}

void adviseScrews(const std::vector<BoltSeat>& seats, const Panel& panel,
                  const BoltSettings& settings, BoltAdvice& advice) {
  double lowest = seats.front().seat_height_mm().value(), highest = lowest;
  for (const BoltSeat& seat : seats) {
    lowest = std::min(lowest, seat.seat_height_mm().value());
    highest = std::max(highest, seat.seat_height_mm().value());
  }
  *advice.mutable_seat_height_mm() = seats.front().seat_height_mm();
  const int holes = static_cast<int>(seats.size());
  advice.set_screws(holes);
  advice.set_pilot_mm(settings.pilot_share * settings.screw_diameter_mm);
  // The longest whose tip stays in the panel: the deeper, the better it holds.
  const double most_mm = lowest + panel.panel_mm() - settings.screw_tip_mm;
  int chosen = 0;
  for (const int length : kScrews_mm)
    if (length <= most_mm + kRounding_mm) chosen = length;
  if (chosen == 0) {
    advice.add_warnings("No screw is short enough for a panel of " + mm(panel.panel_mm()) + ".");
    return;
  }
  advice.set_screw_mm(chosen);
  advice.set_screw(decimalText(settings.screw_diameter_mm, 0) + " × " + std::to_string(chosen));
  advice.set_label("screw " + advice.screw());
  advice.set_engagement_mm(chosen - highest);
  if (advice.engagement_mm() < settings.screw_hold_mm - kRounding_mm)
    advice.add_warnings("The screw would hold " + mm(advice.engagement_mm()) + " in the panel, " +
                        mm(settings.screw_hold_mm) + " are wanted.");
  if (holes < settings.least_screws)
    advice.add_warnings(std::to_string(holes) +
                        " screw hole: " + std::to_string(settings.least_screws) +
                        " or more keep a piece from turning.");
  advice.add_notes("Drill " + mm(advice.pilot_mm()) +
                   " first; drive by hand at the end, so that the piece does not crack.");
}

BoltHead headFor(const BoltQuestion& question, const BoltSeat* seat) {
  if (question.head != BOLT_HEAD_UNSPECIFIED) return question.head;
  return seat != nullptr && seat->kind() == BoltSeat::CONE ? COUNTERSUNK : CAP;
}

/// Height from which the bolt's length counts, with its uncertainty; nullopt: not known.
std::optional<Measured> countedFrom(const BoltQuestion& question, const BoltSeat* seat,
                                    const BoltSeries& series, BoltAdvice& advice) {
  BoltSeat from;
  if (seat != nullptr)
    from = *seat;
  else
    from.set_kind(advice.head() == COUNTERSUNK ? BoltSeat::CONE : BoltSeat::FLAT);
  if (question.seat_by_hand_mm) {
    from.mutable_seat_height_mm()->Clear();
    from.mutable_seat_height_mm()->set_value(*question.seat_by_hand_mm);
    advice.set_seat_by_hand(true);
  } else if (!from.has_seat_height_mm()) {
    advice.add_warnings(
        "The seat was not measured: measure by hand from the back of the hold to the face a cap "
        "head bears on; for a countersunk head to the narrow end of the cone, where it meets the "
        "bore, not to its rim.");
    return std::nullopt;
  }
  Measured height = from.seat_height_mm();
  *advice.mutable_seat_height_mm() = height;
  if (advice.head() != COUNTERSUNK) return height;
  height.set_value(countedSeat_mm(from, series));
  if (question.seat_by_hand_mm)
    advice.add_notes("The head counts: " + mm(height.value() - *question.seat_by_hand_mm) +
                     " from the cone's narrow end up to its rim are added to the " +
                     mm(*question.seat_by_hand_mm) + " by hand.");
  return height;
}

/// A seat known to ± is said to be doubtful when that would change the length.
void checkDoubt(const Measured& seat, const StockedLength& chosen,
                const std::vector<StockedLength>& lengths, const BoltSettings& settings,
                const BoltSeries& series, BoltAdvice& advice) {
  const double more_mm = settings.confidence * seat.sigma();
  const StockedLength* longer = shortestFitting(lengths, advice.least_mm() + more_mm);
  if (longer == &chosen) return;
  advice.add_warnings("The seat is known to " + measuredText(advice.seat_height_mm(), "mm") + ": " +
                      (longer == nullptr ? "a longer bolt than there is"
                                         : labelOf(series, *longer, advice.head())) +
                      " may be needed; try it by hand.");
}

/// What a length is chosen or judged by: head, and from where to where it must reach.
/// @return  The height that the length counts from; nullopt: not known.
std::optional<Measured> setLimits(const BoltQuestion& question, const BoltSeat* seat,
                                  const BoltSettings& settings, BoltAdvice& advice) {
  const BoltSeries& series = boltSeries(question.panel.thread());
  advice.set_head(headFor(question, seat));
  if (advice.head() == CAP) advice.set_washer_mm(settings.washer_mm);
  if (seat != nullptr) checkHead(*seat, series, settings, advice);
  const auto counted = countedFrom(question, seat, series, advice);
  if (!counted) return std::nullopt;
  if (!(counted->value() >= 0 && counted->value() <= 500))
    throw BadInput("A seat " + mm(counted->value()) + " over the wall cannot be" +
                   (question.hold.empty() ? "" : " (" + question.hold + ")") +
                   ": give 0 to 500 mm.");
  const double engagement_mm = settings.engagement_mm.value_or(question.panel.barrel_mm());
  if (!(engagement_mm > 0 && engagement_mm <= question.panel.barrel_mm() + kRounding_mm))
    throw BadInput("An engagement of " + mm(engagement_mm) + " cannot be had from a T-nut of " +
                   mm(question.panel.barrel_mm()) + ": give less than its barrel.");
  const BoltLengths wanted =
      boltLengths(counted->value(), advice.washer_mm(), question.panel, engagement_mm);
  advice.set_least_mm(wanted.least_mm);
  advice.set_through_mm(wanted.through_mm);
  return counted;
}

void chooseLength(const BoltQuestion& question, const BoltSeat* seat, const BoltSettings& settings,
                  const std::vector<BoltStock>* stock, BoltAdvice& advice) {
  const BoltSeries& series = boltSeries(question.panel.thread());
  const auto counted = setLimits(question, seat, settings, advice);
  if (!counted) return;
  const auto lengths = lengthsAtHand(series, settings, stock, advice.head());
  const StockedLength* chosen = shortestFitting(lengths, advice.least_mm());
  if (chosen == nullptr) {
    explainNone(lengths, series, question.panel, stock != nullptr, advice);
    return;
  }
  judgeLength(*chosen, series, question.panel, settings, advice);
  checkDoubt(*counted, *chosen, lengths, settings, series, advice);
}

BoltAdvice beginAdvice(const BoltQuestion& question) {
  checkPanel(question.panel, question.zone.empty() ? "The panel" : "Zone " + question.zone);
  BoltAdvice advice;
  advice.set_hold(question.hold);
  advice.set_name(question.name);
  advice.set_zone(question.zone);
  advice.set_thread(question.panel.thread());
  return advice;
}

/// The advice for the question's own panel.
BoltAdvice adviseOnPanel(const BoltQuestion& question, const BoltSettings& settings,
                         const std::vector<BoltStock>* stock) {
  BoltAdvice advice = beginAdvice(question);
  if (question.bolts != THREAD_UNSPECIFIED && question.bolts != question.panel.thread()) {
    advice.add_warnings(std::string("The T-nuts are ") + boltSeries(question.panel.thread()).name +
                        ", the bolts " + boltSeries(question.bolts).name +
                        ": they start in each other and jam; never mix them.");
    return advice;
  }
  const BoltSeat* seat = boltSeatOf(question.seats);
  const auto screws = screwSeats(question.seats);
  if (seat == nullptr && !screws.empty() && !question.seat_by_hand_mm) {
    adviseScrews(screws, question.panel, settings, advice);
    return advice;
  }
  chooseLength(question, seat, settings, stock, advice);
  if (!screws.empty())
    advice.add_notes("Has " + std::to_string(screws.size()) +
                     " screw hole(s) as well: a screw keeps it from turning.");
  return advice;
}

void takeFromStock(const BoltAdvice& advice, std::vector<BoltStock>& left, BoltCount& count) {
  for (BoltStock& line : left)
    if (advice.screws() == 0 && line.length() == advice.length() &&
        isLike(line, advice.thread(), advice.head())) {
      line.set_count(line.count() - 1);
      count.set_left(line.count());
      return;
    }
}

/// Whether there are M10 T-nuts, and 3/8-16 ones, where the holds go or may go.
std::pair<bool, bool> threadsOf(const std::vector<BoltQuestion>& questions) {
  bool metric = false, inch = false;
  const auto count = [&](const Panel& panel) {
    metric = metric || panel.thread() == M10;
    inch = inch || panel.thread() == INCH_3_8_16;
  };
  for (const BoltQuestion& question : questions) {
    count(question.panel);
    for (const NamedPanel& panel : question.elsewhere) count(panel.fixing);
  }
  return {metric, inch};
}

/// A further piece of a lot that is fixed like the one before is counted there.
void addToBag(BoltAdvice advice, bool further, BoltBag& bag) {
  if (further && bag.bolts().rbegin()->label() == advice.label()) {
    BoltAdvice& before = *bag.mutable_bolts()->rbegin();
    before.set_pieces(std::max(1, before.pieces()) + 1);
  } else {
    *bag.add_bolts() = std::move(advice);
  }
}

std::string seatText(const BoltAdvice& advice) {
  if (!advice.has_seat_height_mm()) return "not known";
  return advice.seat_by_hand() ? decimalText(advice.seat_height_mm().value(), 1) + " by hand"
                               : measuredText(advice.seat_height_mm(), "");
}

}  // namespace

BoltLengths boltLengths(double seat_mm, double washer_mm, const Panel& panel,
                        double engagement_mm) {
  const double clamped_mm = seat_mm + washer_mm + panel.panel_mm();
  return {clamped_mm - panel.barrel_mm() + engagement_mm, clamped_mm + panel.flange_mm()};
}

const StockedLength* shortestFitting(std::span<const StockedLength> lengths, double least_mm) {
  const auto fits = std::find_if(lengths.begin(), lengths.end(), [&](const StockedLength& length) {
    return length.length_mm >= least_mm - kRounding_mm;
  });
  return fits == lengths.end() ? nullptr : &*fits;
}

double countedSeat_mm(const BoltSeat& seat, const BoltSeries& series) {
  const double height_mm = seat.seat_height_mm().value();
  if (seat.kind() != BoltSeat::CONE) return height_mm + coneHeadHeight_mm(series);
  const double cone_deg = seat.has_cone_deg() ? seat.cone_deg().value() : series.cone_deg;
  const double bore_mm = seat.has_bore_mm() ? seat.bore_mm().value() : series.diameter_mm;
  return height_mm +
         std::max(0.0, series.cone_diameter_mm - bore_mm) / 2 / std::tan(cone_deg * M_PI / 360);
}

/// The seat that the bolt goes through: of several, the one nearest to the hold's origin, which is
/// its bolt axis.
const BoltSeat* boltSeatOf(const std::vector<BoltSeat>& seats) {
  const BoltSeat* best = nullptr;
  const auto off = [](const BoltSeat& s) { return std::hypot(s.axis_mm().x(), s.axis_mm().y()); };
  for (const BoltSeat& seat : seats)
    if (!seat.screw() && (best == nullptr || off(seat) < off(*best))) best = &seat;
  return best;
}

std::vector<BoltSeat> screwSeats(const std::vector<BoltSeat>& seats) {
  std::vector<BoltSeat> screws;
  for (const BoltSeat& seat : seats)
    if (seat.screw() && seat.has_seat_height_mm()) screws.push_back(seat);
  return screws;
}

BoltQuestion boltQuestionOf(const Hold& hold) {
  BoltQuestion question;
  question.hold = hold.id();
  question.name = hold.name();
  if (const Scan* scan = currentScan(hold))
    question.seats.assign(scan->shape().bolt_seats().begin(), scan->shape().bolt_seats().end());
  return question;
}

double enoughEngagement_mm(const BoltSeries& series, const BoltSettings& settings) {
  return std::max(settings.least_turns * series.pitch_mm, fullStrengthEngagement_mm(series));
}

BoltAdvice judgeBolt(const BoltQuestion& question, const BoltSettings& settings,
                     const StockedLength& length) {
  BoltAdvice advice = beginAdvice(question);
  if (setLimits(question, boltSeatOf(question.seats), settings, advice))
    judgeLength(length, boltSeries(question.panel.thread()), question.panel, settings, advice);
  return advice;
}

BoltAdvice adviseBolt(const BoltQuestion& question, const BoltSettings& settings,
                      const std::vector<BoltStock>* stock) {
  std::vector<BoltStock> named;
  if (stock != nullptr) {
    const auto [metric, inch] = threadsOf({question});
    named = withThreads(*stock, metric, inch);
  }
  const std::vector<BoltStock>* at_hand = stock == nullptr ? nullptr : &named;
  BoltAdvice advice = adviseOnPanel(question, settings, at_hand);
  if (question.elsewhere.empty()) return advice;
  advice.set_assumed_panel(question.assumed_panel);
  std::string others;
  bool differ = false;
  for (const NamedPanel& panel : question.elsewhere) {
    BoltQuestion there = question;
    there.panel = panel.fixing;
    PanelBolt& bolt = *advice.add_elsewhere();
    bolt.set_panel(panel.name);
    bolt.set_label(adviseOnPanel(there, settings, at_hand).label());
    differ = differ || bolt.label() != advice.label();
    others += ", on " + panel.name + " " + (bolt.label().empty() ? "none fits" : bolt.label());
  }
  if (differ)
    advice.add_warnings("Not placed yet: on " + question.assumed_panel + " it takes " +
                        (advice.label().empty() ? "none that fits" : advice.label()) + others +
                        "; the panels are fixed differently: place it first, or bring both.");
  return advice;
}

BoltBag packBolts(const std::vector<BoltQuestion>& questions, const BoltSettings& settings,
                  const std::vector<BoltStock>* stock) {
  const auto [metric, inch] = threadsOf(questions);
  std::vector<BoltStock> left;
  if (stock != nullptr) left = withThreads(*stock, metric, inch);
  BoltBag bag;
  std::map<std::string, BoltCount> counts;
  for (const BoltQuestion& question : questions) {
    // Piece by piece: the stock of one length may run out within a lot.
    for (int piece = 0; piece < std::max(1, question.pieces); ++piece) {
      BoltAdvice advice = adviseBolt(question, settings, stock == nullptr ? nullptr : &left);
      if (!advice.label().empty()) {
        BoltCount& count = counts[advice.label()];
        count.set_label(advice.label());
        count.set_count(count.count() + std::max(1, advice.screws()));
        takeFromStock(advice, left, count);
      }
      addToBag(std::move(advice), piece > 0, bag);
    }
  }
  for (const auto& [label, count] : counts) *bag.add_bag() = count;
  if (metric && inch)
    bag.add_warnings(
        "Some T-nuts here are M10 and some 3/8-16: pack two bags and keep them apart; the bolts "
        "start in each other and jam.");
  for (const std::string& caution : boltCautions()) bag.add_cautions(caution);
  return bag;
}

void checkPanel(const Panel& panel, const std::string& where) {
  const auto check = [&](double value, double from, double to, const char* what) {
    if (!(value >= from && value <= to))
      throw BadInput(where + " has a " + what + " of " + mm(value) + ": give " +
                     decimalText(from, 0) + " to " + decimalText(to, 0) + " mm.");
  };
  if (panel.thread() != M10 && panel.thread() != INCH_3_8_16)
    throw BadInput(where + " has no thread: give M10 or 3/8-16.");
  check(panel.panel_mm(), 9, 80, "thickness");
  check(panel.barrel_mm(), 5, 40, "T-nut barrel");
  check(panel.flange_mm(), 0, 6, "T-nut flange");
  if (panel.barrel_mm() > panel.panel_mm())
    throw BadInput(where + " has a T-nut barrel of " + mm(panel.barrel_mm()) + " in a panel of " +
                   mm(panel.panel_mm()) + ": it would stand out in front; check both.");
}

std::vector<std::string> boltCautions() {
  return {
      "Lengths are arithmetic on a scanned seat and the panel as described: turn each bolt in by "
      "hand first, and look at where it ends.",
      "The makers' instructions for hold, bolt and insert, the standards in force and qualified "
      "people decide. Tighten by hand feel and the maker's torque, never by this tool's word.",
      "M10 and 3/8-16 start in each other: never force a bolt."};
}

std::string boltText(const BoltBag& bag) {
  std::vector<std::vector<std::string>> rows = {
      {"hold", "name", "seat mm", "bolt", "at least", "in the T-nut", "past it"}};
  std::string remarks;
  for (const BoltAdvice& b : bag.bolts()) {
    const bool screwed = b.screws() > 0, bolted = !b.length().empty();
    const std::string pieces = b.pieces() > 1 ? std::to_string(b.pieces()) + " × " : "";
    rows.push_back({b.hold(), pieces + b.name(), seatText(b),
                    bolted    ? b.label()
                    : screwed ? std::to_string(b.screws()) + " × " + b.label()
                              : "none",
                    b.least_mm() > 0 ? decimalText(b.least_mm(), 1) : "",
                    bolted || screwed ? decimalText(b.engagement_mm(), 1) : "",
                    bolted ? decimalText(b.past_mm(), 1) : ""});
    const std::string whose = b.hold().empty() ? "" : b.hold() + ": ";
    for (const std::string& warning : b.warnings()) remarks += "  ! " + whose + warning + "\n";
    for (const std::string& note : b.notes()) remarks += "  " + whose + note + "\n";
  }
  std::string text = tableText(rows) + remarks;
  if (!bag.bag().empty()) text += "\nThe bag:\n";
  for (const BoltCount& count : bag.bag())
    text += "  " + std::to_string(count.count()) + " × " + count.label() +
            (count.has_left() ? " (" + std::to_string(count.left()) + " left in stock)" : "") +
            "\n";
  for (const std::string& warning : bag.warnings()) text += "! " + warning + "\n";
  text += "\n";
  for (const std::string& caution : bag.cautions()) text += caution + "\n";
  return text;
}

}  // namespace holdshelf
