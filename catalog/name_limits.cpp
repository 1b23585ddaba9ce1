// SPDX-License-Identifier: Apache-2.0
#include "catalog/name_limits.h"

#include <algorithm>

#include "catalog/colour.h"

namespace holdshelf {

std::string caseless(std::string text) {
  for (char& c : text)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return text;
}

bool isAmong(const google::protobuf::RepeatedPtrField<std::string>& names,
             const std::string& name) {
  return std::any_of(names.begin(), names.end(),
                     [&](const std::string& n) { return caseless(n) == caseless(name); });
}

bool colourNameFits(const Query& query, const std::string& colour) {
  return query.colours().empty() || isAmong(query.colours(), colour) ||
         isAmong(query.colours(), basicTerm(colour));
}

bool statusFits(const Query& query, Status status) {
  if (query.statuses().empty()) return status != RETIRED;
  return std::count(query.statuses().begin(), query.statuses().end(), status) > 0;
}

bool textFits(const Query& query, const SearchEntry& entry) {
  if (query.text().empty()) return true;
  const std::string text = caseless(query.text());
  return caseless(entry.name).find(text) != std::string::npos ||
         caseless(entry.id).find(text) != std::string::npos;
}

bool placeFits(const Query& query, const SearchEntry& entry) {
  if (!query.bins().empty() && !isAmong(query.bins(), entry.bin)) return false;
  if (!query.sets().empty() && !isAmong(query.sets(), entry.set)) return false;
  return query.sites().empty() || isAmong(query.sites(), entry.site);
}

}  // namespace holdshelf
