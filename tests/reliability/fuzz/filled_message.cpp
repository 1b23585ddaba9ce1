// SPDX-License-Identifier: Apache-2.0
#include "tests/reliability/fuzz/filled_message.h"

#include <google/protobuf/descriptor.h>
#include <google/protobuf/util/json_util.h>

#include <memory>
#include <stdexcept>

#include "mesh/sha256.h"

using google::protobuf::FieldDescriptor;
using google::protobuf::Message;
using google::protobuf::OneofDescriptor;
using google::protobuf::Reflection;

namespace holdshelf::test {
namespace {

const char* const kText = "H-0001";
constexpr double kReal = 12.5;
constexpr int kWhole = 2;

/// Of a file among a library's, by its SHA-256.
bool namesFile(const FieldDescriptor& field) {
  const std::string& name = field.name();
  return name.ends_with("_blob") || name.ends_with("_blobs") || name == "photographed";
}

void fillField(Message& message, const FieldDescriptor& field, int choice, int levels) {
  const Reflection& set = *message.GetReflection();
  const bool many = field.is_repeated();
  // Either appends to a list or sets the one value.
  const auto give = [&](auto add, auto put, auto value) {
    if (many)
      (set.*add)(&message, &field, value);
    else
      (set.*put)(&message, &field, value);
  };
  switch (field.cpp_type()) {
    case FieldDescriptor::CPPTYPE_INT32:
      return give(&Reflection::AddInt32, &Reflection::SetInt32, kWhole);
    case FieldDescriptor::CPPTYPE_INT64:
      return give(&Reflection::AddInt64, &Reflection::SetInt64, kWhole);
    case FieldDescriptor::CPPTYPE_UINT32:
      return give(&Reflection::AddUInt32, &Reflection::SetUInt32, kWhole);
    case FieldDescriptor::CPPTYPE_UINT64:
      return give(&Reflection::AddUInt64, &Reflection::SetUInt64, kWhole);
    case FieldDescriptor::CPPTYPE_DOUBLE:
      return give(&Reflection::AddDouble, &Reflection::SetDouble, kReal);
    case FieldDescriptor::CPPTYPE_FLOAT:
      return give(&Reflection::AddFloat, &Reflection::SetFloat, kReal);
    case FieldDescriptor::CPPTYPE_BOOL:
      return give(&Reflection::AddBool, &Reflection::SetBool, true);
    case FieldDescriptor::CPPTYPE_ENUM:
      return give(&Reflection::AddEnumValue, &Reflection::SetEnumValue,
                  field.enum_type()->value(field.enum_type()->value_count() - 1)->number());
    case FieldDescriptor::CPPTYPE_STRING:
      return give(&Reflection::AddString, &Reflection::SetString,
                  namesFile(field) ? sha256Hex(filledFile()) : std::string(kText));
    case FieldDescriptor::CPPTYPE_MESSAGE:
      if (levels > 0)
        fillMessage(
            many ? *set.AddMessage(&message, &field) : *set.MutableMessage(&message, &field),
            choice, levels - 1);
  }
}

}  // namespace

std::string filledFile() { return "a file"; }

void fillMessage(Message& message, int choice, int levels) {
  for (int i = 0; i < message.GetDescriptor()->field_count(); ++i) {
    const FieldDescriptor& field = *message.GetDescriptor()->field(i);
    const OneofDescriptor* one_of = field.real_containing_oneof();
    if (one_of && field.index_in_oneof() != choice % one_of->field_count()) continue;
    fillField(message, field, choice, levels);
  }
}

std::string filledJson(const google::protobuf::Descriptor& type, int choice) {
  const std::unique_ptr<Message> message(
      google::protobuf::MessageFactory::generated_factory()->GetPrototype(&type)->New());
  fillMessage(*message, choice);
  std::string json;
  if (!google::protobuf::util::MessageToJsonString(*message, &json).ok())
    throw std::logic_error("A filled " + type.name() + " can't be written.");
  return json;
}

std::vector<std::vector<Event>> historiesOfEveryChange() {
  std::vector<std::vector<Event>> all;
  for (int kind = 0; kind < Event::descriptor()->oneof_decl(0)->field_count(); ++kind) {
    Event made, change;
    made.set_number(1);
    made.set_hold(kText);
    made.set_at("2026-03-01T18:00:00Z");
    made.mutable_created()->set_name("Shingle");
    fillMessage(change, kind);
    if (change.has_created()) change.mutable_created()->clear_scans();  // A hold is made without.
    change.set_number(2);
    change.set_at("2026-03-01T18:01:00Z");
    if (change.has_gym() || change.has_climb()) {
      change.clear_hold();
      change.set_subject(change.has_gym() ? "gym" : "climb/C-0001");
    } else {
      change.clear_subject();
    }
    all.push_back({made, change});
  }
  return all;
}

}  // namespace holdshelf::test
