// SPDX-License-Identifier: Apache-2.0
#include "catalog/named_ids.h"

#include <algorithm>
#include <array>
#include <string_view>
#include <vector>

namespace holdshelf {
namespace {

using google::protobuf::FieldDescriptor;

constexpr std::array<std::string_view, 9> kHolds = {
    "holdshelf.Event.hold",           "holdshelf.Hold.id",
    "holdshelf.Hold.split_from",      "holdshelf.ClimbHold.hold",
    "holdshelf.ClimbHold.split_from", "holdshelf.ClimbChange.dropped",
    "holdshelf.ClimbSwap.out",        "holdshelf.ClimbNote.hold",
    "holdshelf.Dismissal.hold"};

/// Those of a hold and a move take free text, too, which keeps its words.
constexpr std::array<std::string_view, 5> kClimbs = {"holdshelf.Climb.id", "holdshelf.Hold.crate",
                                                     "holdshelf.Hold.climb", "holdshelf.Move.crate",
                                                     "holdshelf.Move.climb"};

template <std::size_t N>
bool isAmong(const std::array<std::string_view, N>& names, const std::string& name) {
  return std::find(names.begin(), names.end(), name) != names.end();
}

const std::string& renamed(const NewIds& ids, const std::string& id) {
  const auto found = ids.find(id);
  return found == ids.end() ? id : found->second;
}

void renameText(const NewIds& ids, const FieldDescriptor& field,
                google::protobuf::Message& message) {
  const auto* reflection = message.GetReflection();
  if (!field.is_repeated()) {
    reflection->SetString(&message, &field, renamed(ids, reflection->GetString(message, &field)));
    return;
  }
  for (int i = 0; i < reflection->FieldSize(message, &field); ++i)
    reflection->SetRepeatedString(&message, &field, i,
                                  renamed(ids, reflection->GetRepeatedString(message, &field, i)));
}

void renameBelow(const NewIds& holds, const NewIds& climbs, const FieldDescriptor& field,
                 google::protobuf::Message& message) {
  const auto* reflection = message.GetReflection();
  if (!field.is_repeated()) {
    renameIds(holds, climbs, *reflection->MutableMessage(&message, &field));
    return;
  }
  for (int i = 0; i < reflection->FieldSize(message, &field); ++i)
    renameIds(holds, climbs, *reflection->MutableRepeatedMessage(&message, &field, i));
}

}  // namespace

NamedId namedBy(const FieldDescriptor& field) {
  if (isAmong(kHolds, field.full_name())) return NamedId::Hold;
  return isAmong(kClimbs, field.full_name()) ? NamedId::Climb : NamedId::None;
}

void renameIds(const NewIds& holds, const NewIds& climbs, google::protobuf::Message& message) {
  std::vector<const FieldDescriptor*> fields;
  message.GetReflection()->ListFields(message, &fields);
  for (const FieldDescriptor* field : fields) {
    if (field->cpp_type() == FieldDescriptor::CPPTYPE_MESSAGE)
      renameBelow(holds, climbs, *field, message);
    else if (const NamedId named = namedBy(*field); named != NamedId::None)
      renameText(named == NamedId::Hold ? holds : climbs, *field, message);
  }
}

}  // namespace holdshelf
