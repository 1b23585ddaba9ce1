// SPDX-License-Identifier: Apache-2.0
#include "catalog/lost_file.h"

namespace holdshelf {
namespace {

constexpr int kMostNamed = 10;

}  // namespace

std::string notComparedText(const google::protobuf::RepeatedPtrField<std::string>& holds) {
  if (holds.empty()) return "";
  std::string names;
  for (int i = 0; i < holds.size() && i < kMostNamed; ++i)
    names += (i == 0 ? "" : ", ") + holds.at(i);
  if (holds.size() > kMostNamed)
    names += " and " + std::to_string(holds.size() - kMostNamed) + " more";
  return "Not compared, as the mesh is lost or damaged: " + names +
         " (holdshelf check says how it comes back).";
}

}  // namespace holdshelf
