// SPDX-License-Identifier: Apache-2.0
#include "catalog/lost_file.h"

namespace holdshelf {
namespace {

constexpr int kMostNamed = 10;

std::string namesOf(const google::protobuf::RepeatedPtrField<std::string>& holds) {
  std::string names;
  for (int i = 0; i < holds.size() && i < kMostNamed; ++i)
    names += (i == 0 ? "" : ", ") + holds.at(i);
  if (holds.size() > kMostNamed)
    names += " and " + std::to_string(holds.size() - kMostNamed) + " more";
  return names;
}

}  // namespace

std::string notComparedText(const google::protobuf::RepeatedPtrField<std::string>& holds) {
  if (holds.empty()) return "";
  return "Not compared, as the mesh is lost or damaged: " + namesOf(holds) +
         " (holdshelf check says how it comes back).";
}

std::string lipsLeftOutText(const google::protobuf::RepeatedPtrField<std::string>& holds) {
  if (holds.empty()) return "";
  return "Left out, as what search keeps of their lips is damaged: " + namesOf(holds) +
         " (holdshelf check --repair makes it anew).";
}

}  // namespace holdshelf
