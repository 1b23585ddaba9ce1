// SPDX-License-Identifier: Apache-2.0
#include "catalog/bolt_stock.h"

#include <algorithm>
#include <cmath>

#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr double kInch_mm = 25.4;

BoltHead headOf(const BoltStock& line) { return line.head() == COUNTERSUNK ? COUNTERSUNK : CAP; }

}  // namespace

std::string boltLabel(const BoltSeries& series, const StockedLength& length, BoltHead head) {
  return std::string(series.name) + " × " + length.text + (series.inch ? " in" : "") +
         (head == COUNTERSUNK ? " countersunk" : "");
}

bool isLike(const BoltStock& line, Thread thread, BoltHead head) {
  return line.count() > 0 && line.thread() == thread && headOf(line) == head;
}

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

}  // namespace holdshelf
