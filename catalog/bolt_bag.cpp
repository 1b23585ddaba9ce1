// SPDX-License-Identifier: Apache-2.0
#include "catalog/bolt_bag.h"

#include <algorithm>
#include <map>
#include <utility>

#include "catalog/bolt_stock.h"
#include "catalog/measured_text.h"

namespace holdshelf {
namespace {

void takeFromStock(const BoltAdvice& advice, std::vector<BoltStock>& left, BoltCount& count) {
  for (BoltStock& line : left)
    if (advice.screws() == 0 && line.length() == advice.length() &&
        isLike(line, advice.thread(), advice.head())) {
      line.set_count(line.count() - 1);
      count.set_left(line.count());
      return;
    }
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
