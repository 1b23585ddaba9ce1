// SPDX-License-Identifier: Apache-2.0
#include "catalog/label_choice.h"

#include <algorithm>
#include <set>

#include "catalog/climbs.h"
#include "catalog/gym.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr std::size_t kMostLabels = 3000;

bool has(const std::vector<std::string>& list, const std::string& word) {
  return std::find(list.begin(), list.end(), word) != list.end();
}

}  // namespace

std::vector<Label> chosenLabels(const Library& library, const LabelChoice& choice) {
  std::vector<Label> labels;
  for (const std::string& id : choice.holds)
    labels.push_back(holdLabel(library.hold(id), choice.page));
  const bool all =
      choice.holds.empty() && choice.of_bins.empty() && choice.bins.empty() && !choice.all_bins;
  if (!choice.holds.empty() && choice.of_bins.empty() && choice.bins.empty() && !choice.all_bins)
    return labels;
  std::vector<Hold> holds;
  std::set<std::string> bins;
  library.forEachHold([&](std::int64_t, const Hold& hold) {
    if (hold.status() == RETIRED) return;
    holds.push_back(hold);
    if (!hold.bin().empty()) bins.insert(hold.bin());
  });
  const Gym gym = gymOf(library);
  std::stable_sort(holds.begin(), holds.end(), [&](const Hold& a, const Hold& b) {
    return a.bin() == b.bin() ? a.id() < b.id() : binBefore(gym, a.bin(), b.bin());
  });
  for (const auto* list : {&choice.bins, &choice.of_bins})
    for (const std::string& bin : *list)
      if (!bins.contains(bin))
        throw BadInput("No hold belongs into bin \"" + bin.substr(0, 60) + "\".");
  std::vector<std::string> bin_labels = choice.bins;
  if (choice.all_bins) bin_labels.assign(bins.begin(), bins.end());
  std::sort(bin_labels.begin(), bin_labels.end(),
            [&](const std::string& a, const std::string& b) { return binBefore(gym, a, b); });
  for (const std::string& bin : bin_labels) labels.push_back(binLabel(bin, holds, choice.page));
  for (const Hold& hold : holds)
    if (all || has(choice.of_bins, hold.bin())) labels.push_back(holdLabel(hold, choice.page));
  if (labels.size() > kMostLabels)
    throw BadInput(std::to_string(labels.size()) + " labels at once are too many: name bins.");
  return labels;
}

}  // namespace holdshelf
