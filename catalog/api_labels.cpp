// SPDX-License-Identifier: Apache-2.0
// Routes about labels to print.
#include <algorithm>

#include "catalog/api.h"
#include "catalog/label_choice.h"
#include "mesh/bad_input.h"
#include "proto/server.pb.h"

namespace holdshelf {
namespace {

std::vector<std::string> listOf(const std::string& text) {
  std::vector<std::string> words;
  std::size_t start = 0;
  while (start < text.size()) {
    const std::size_t end = std::min(text.find(',', start), text.size());
    if (end > start) words.push_back(text.substr(start, end - start));
    start = end + 1;
  }
  return words;
}

ApiReply options(Service& service, const ApiRequest&) {
  LabelOptions options;
  for (const LabelSheet& sheet : labelSheets()) {
    LabelOptions::Sheet& entry = *options.add_sheets();
    entry.set_name(sheet.name);
    entry.set_labels(sheet.columns * sheet.rows);
    entry.set_width_mm(sheet.label_width_mm);
    entry.set_height_mm(sheet.label_height_mm);
  }
  for (const std::string& address : service.label_addresses) options.add_addresses(address);
  return jsonReply(options);
}

ApiReply labels(Service& service, const ApiRequest& request) {
  LabelChoice choice;
  choice.holds = listOf(request.text("holds"));
  if (!request.text("bin").empty()) choice.of_bins = {request.text("bin")};
  choice.all_bins = request.text("what") == "bins";
  choice.page = request.text(
      "address", service.label_addresses.empty() ? "" : service.label_addresses.front());
  const auto& known = service.label_addresses;
  if (std::find(known.begin(), known.end(), choice.page) == known.end())
    throw BadInput("This page has no such address: see /api/v1/label-options.");
  const LabelSheet sheet = labelSheet(request.text("sheet", "A4-21"));
  const int skip = static_cast<int>(request.number("skip").value_or(0));
  return {200, "application/pdf", labelsPdf(chosenLabels(service.library(), choice), sheet, skip),
          "", "labels.pdf"};
}

}  // namespace

std::vector<ApiRoute> labelRoutes() {
  return {
      {.method = "GET",
       .path = "/api/v1/label-options",
       .summary = "Label sheets, and the addresses that codes can lead to",
       .gives = LabelOptions::descriptor(),
       .answer = options},
      {.method = "GET",
       .path = "/api/v1/labels.pdf",
       .summary = "Labels with codes that open the hold or the bin on a phone, at true scale",
       .query = {{"holds", "string", "Ids, with commas; all holds where neither this nor bin is"},
                 {"bin", "string", "All holds of this bin"},
                 {"what", "string", "bins: the bins' own labels"},
                 {"sheet", "string", "One of the sheets, or WIDTHxHEIGHT in mm (A4-21)"},
                 {"skip", "integer", "Labels that are used up on the first sheet"},
                 {"address", "string", "One of the addresses; the first where it is left out"}},
       .type = "application/pdf",
       .answer = labels},
  };
}

}  // namespace holdshelf
