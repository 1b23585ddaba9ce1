// SPDX-License-Identifier: Apache-2.0
#include "catalog/named_ids.h"

#include <algorithm>
#include <array>
#include <string_view>
#include <vector>

namespace holdshelf {
namespace {

using google::protobuf::Descriptor;
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

/// Whether the message or one below it names an id; notes that of each.
bool collectNaming(const Descriptor& message, std::map<const Descriptor*, bool>& naming) {
  const auto [known, added] = naming.try_emplace(&message, false);
  if (!added) return known->second;
  bool names = false;
  for (int i = 0; i < message.field_count(); ++i) {
    const FieldDescriptor& field = *message.field(i);
    if (field.message_type() != nullptr && collectNaming(*field.message_type(), naming))
      names = true;
    if (namedBy(field) != NamedId::None) names = true;
  }
  return naming[&message] = names;
}

/// A scan has thousands of points, which are not to be looked at one by one.
bool namesIds(const Descriptor& message) {
  static const auto naming = [] {
    std::map<const Descriptor*, bool> found;
    collectNaming(*Event::descriptor(), found);
    return found;
  }();
  return naming.at(&message);
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

void renameIn(const NewIds& holds, const NewIds& climbs, google::protobuf::Message& message);

void renameBelow(const NewIds& holds, const NewIds& climbs, const FieldDescriptor& field,
                 google::protobuf::Message& message) {
  const auto* reflection = message.GetReflection();
  if (!field.is_repeated()) {
    renameIn(holds, climbs, *reflection->MutableMessage(&message, &field));
    return;
  }
  for (int i = 0; i < reflection->FieldSize(message, &field); ++i)
    renameIn(holds, climbs, *reflection->MutableRepeatedMessage(&message, &field, i));
}

void renameIn(const NewIds& holds, const NewIds& climbs, google::protobuf::Message& message) {
  std::vector<const FieldDescriptor*> fields;
  message.GetReflection()->ListFields(message, &fields);
  for (const FieldDescriptor* field : fields) {
    const NamedId named = namedBy(*field);
    if (field->message_type() != nullptr && namesIds(*field->message_type()))
      renameBelow(holds, climbs, *field, message);
    else if (named != NamedId::None)
      renameText(named == NamedId::Hold ? holds : climbs, *field, message);
  }
}

}  // namespace

NamedId namedBy(const FieldDescriptor& field) {
  if (isAmong(kHolds, field.full_name())) return NamedId::Hold;
  return isAmong(kClimbs, field.full_name()) ? NamedId::Climb : NamedId::None;
}

void renameIds(const NewIds& holds, const NewIds& climbs, Event& event) {
  renameIn(holds, climbs, event);
}

}  // namespace holdshelf
