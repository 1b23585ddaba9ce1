// SPDX-License-Identifier: Apache-2.0
#include "catalog/bolt_advice.h"

#include <algorithm>
#include <cmath>

#include "catalog/bolt_faults.h"
#include "catalog/bolt_stock.h"
#include "catalog/hold_record.h"
#include "catalog/measured_text.h"
#include "catalog/screw_advice.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

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
    advice.add_notes("The head counts: " + mmText(height.value() - *question.seat_by_hand_mm) +
                     " from the cone's narrow end up to its rim are added to the " +
                     mmText(*question.seat_by_hand_mm) + " by hand.");
  return height;
}

/// What a length is chosen or judged by: head, and from where to where it must reach.
/// @return  The height that the length counts from; nullopt: not known.
std::optional<Measured> setLimits(const BoltQuestion& question, const BoltSeat* seat,
                                  const BoltSettings& settings, BoltAdvice& advice) {
  const BoltSeries& series = boltSeries(question.panel.thread());
  advice.set_head(headFor(question, seat));
  if (advice.head() == CAP) advice.set_washer_mm(settings.washer_mm);
  if (seat != nullptr) checkHead(*seat, series, settings, advice);
  auto counted = countedFrom(question, seat, series, advice);
  if (!counted) return std::nullopt;
  if (!(counted->value() >= 0 && counted->value() <= 500))
    throw BadInput("A seat " + mmText(counted->value()) + " over the wall cannot be" +
                   (question.hold.empty() ? "" : " (" + question.hold + ")") +
                   ": give 0 to 500 mm.");
  const double engagement_mm = settings.engagement_mm.value_or(question.panel.barrel_mm());
  if (!(engagement_mm > 0 && engagement_mm <= question.panel.barrel_mm() + kSameLength_mm))
    throw BadInput("An engagement of " + mmText(engagement_mm) + " cannot be had from a T-nut of " +
                   mmText(question.panel.barrel_mm()) + ": give less than its barrel.");
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

}  // namespace

const BoltSeat* boltSeatOf(const std::vector<BoltSeat>& seats) {
  const BoltSeat* best = nullptr;
  const auto off = [](const BoltSeat& s) { return std::hypot(s.axis_mm().x(), s.axis_mm().y()); };
  for (const BoltSeat& seat : seats)
    if (!seat.screw() && (best == nullptr || off(seat) < off(*best))) best = &seat;
  return best;
}

BoltQuestion boltQuestionOf(const Hold& hold) {
  BoltQuestion question;
  question.hold = hold.id();
  question.name = hold.name();
  if (const Scan* scan = currentScan(hold))
    question.seats.assign(scan->shape().bolt_seats().begin(), scan->shape().bolt_seats().end());
  return question;
}

ThreadsThere threadsOf(const std::vector<BoltQuestion>& questions) {
  ThreadsThere there;
  const auto count = [&](const Panel& panel) {
    there.metric = there.metric || panel.thread() == M10;
    there.inch = there.inch || panel.thread() == INCH_3_8_16;
  };
  for (const BoltQuestion& question : questions) {
    count(question.panel);
    for (const NamedPanel& panel : question.elsewhere) count(panel.fixing);
  }
  return there;
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

}  // namespace holdshelf
