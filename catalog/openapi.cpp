// SPDX-License-Identifier: Apache-2.0
#include "catalog/openapi.h"

#include <google/protobuf/struct.pb.h>

#include <algorithm>
#include <cctype>
#include <set>

namespace holdshelf {
namespace {

using google::protobuf::Descriptor;
using google::protobuf::FieldDescriptor;
using google::protobuf::Struct;
using google::protobuf::Value;

Value text(const std::string& s) {
  Value value;
  value.set_string_value(s);
  return value;
}

Struct& object(Struct& parent, const std::string& key) {
  return *(*parent.mutable_fields())[key].mutable_struct_value();
}

void set(Struct& parent, const std::string& key, const std::string& value) {
  (*parent.mutable_fields())[key] = text(value);
}

/// A reference to a message's schema; remembers that it is needed.
void refer(Struct& schema, const Descriptor* message, std::set<const Descriptor*>& open) {
  set(schema, "$ref", "#/components/schemas/" + message->name());
  open.insert(message);
}

void describeEnum(Struct& schema, const google::protobuf::EnumDescriptor* words) {
  set(schema, "type", "string");
  auto& list = *(*schema.mutable_fields())["enum"].mutable_list_value();
  for (int i = 0; i < words->value_count(); ++i) *list.add_values() = text(words->value(i)->name());
}

/// The schema of one value of the field, by the proto3 JSON mapping.
void describeValue(Struct& schema, const FieldDescriptor* field,
                   std::set<const Descriptor*>& open) {
  switch (field->cpp_type()) {
    case FieldDescriptor::CPPTYPE_MESSAGE:
      return refer(schema, field->message_type(), open);
    case FieldDescriptor::CPPTYPE_ENUM:
      return describeEnum(schema, field->enum_type());
    case FieldDescriptor::CPPTYPE_BOOL:
      return set(schema, "type", "boolean");
    case FieldDescriptor::CPPTYPE_INT32:
    case FieldDescriptor::CPPTYPE_UINT32:
      return set(schema, "type", "integer");
    case FieldDescriptor::CPPTYPE_DOUBLE:
    case FieldDescriptor::CPPTYPE_FLOAT:
      return set(schema, "type", "number");
    case FieldDescriptor::CPPTYPE_INT64:
    case FieldDescriptor::CPPTYPE_UINT64:
      set(schema, "type", "string");
      return set(schema, "format", "int64");
    default:
      set(schema, "type", "string");
      if (field->type() == FieldDescriptor::TYPE_BYTES) set(schema, "format", "byte");
  }
}

void describeMessage(Struct& schema, const Descriptor* message, std::set<const Descriptor*>& open) {
  set(schema, "type", "object");
  if (message->field_count() == 0) return;
  Struct& properties = object(schema, "properties");
  for (int i = 0; i < message->field_count(); ++i) {
    const FieldDescriptor* field = message->field(i);
    Struct& property = object(properties, field->json_name());
    if (!field->is_repeated()) {
      describeValue(property, field, open);
      continue;
    }
    set(property, "type", "array");
    describeValue(object(property, "items"), field, open);
  }
}

void addParameter(Struct& operation, const ApiParameter& parameter, const std::string& in) {
  auto& list = *(*operation.mutable_fields())["parameters"].mutable_list_value();
  Struct& entry = *list.add_values()->mutable_struct_value();
  set(entry, "name", parameter.name);
  set(entry, "in", in);
  set(entry, "description", parameter.meaning);
  (*entry.mutable_fields())["required"].set_bool_value(parameter.required);
  set(object(entry, "schema"), "type", parameter.type);
}

void addPathParameters(Struct& operation, const std::string& path) {
  for (std::size_t open = path.find('{'); open != std::string::npos;
       open = path.find('{', open + 1)) {
    const std::string name = path.substr(open + 1, path.find('}', open) - open - 1);
    addParameter(operation, {name, "string", "", true}, "path");
  }
}

std::string operationName(const ApiRoute& route) {
  std::string name = route.method;
  std::transform(name.begin(), name.end(), name.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  bool upper = true;
  for (const char c : route.path.substr(std::string("/api/v1/").size())) {
    const bool letter = std::isalnum(static_cast<unsigned char>(c)) != 0;
    if (letter) name += upper ? static_cast<char>(std::toupper(c)) : c;
    upper = !letter;
  }
  return name;
}

void addReply(Struct& responses, const std::string& status, const std::string& description) {
  set(object(responses, status), "description", description);
}

void describeRoute(Struct& operation, const ApiRoute& route, std::set<const Descriptor*>& open,
                   const Descriptor* problem) {
  set(operation, "operationId", operationName(route));
  set(operation, "summary", route.summary);
  set(operation, "description",
      route.role == Role::None ? "Open to every device."
                               : "Needs the role " + roleWord(route.role) + " or a higher one.");
  addPathParameters(operation, route.path);
  for (const ApiParameter& parameter : route.query) addParameter(operation, parameter, "query");
  if (route.takes != nullptr || !route.takes_type.empty()) {
    Struct& body = object(operation, "requestBody");
    (*body.mutable_fields())["required"].set_bool_value(true);
    Struct& content = object(body, "content");
    if (route.takes != nullptr)
      refer(object(object(content, "application/json"), "schema"), route.takes, open);
    else
      set(object(object(content, route.takes_type), "schema"), "format", "binary");
  }
  Struct& responses = object(operation, "responses");
  addReply(responses, "200", "Done");
  Struct& schema =
      object(object(object(object(responses, "200"), "content"), route.type), "schema");
  if (route.gives != nullptr)
    refer(schema, route.gives, open);
  else
    set(schema, "type", route.type == "application/json" ? "object" : "string");
  addReply(responses, "default", "Turned down, with the reason");
  refer(
      object(object(object(object(responses, "default"), "content"), "application/json"), "schema"),
      problem, open);
}

}  // namespace

std::string openApiDocument(const std::vector<ApiRoute>& routes) {
  Struct document;
  set(document, "openapi", "3.0.3");
  set(object(document, "info"), "title", "Holdshelf");
  set(object(document, "info"), "version", HOLDSHELF_VERSION);
  set(object(document, "info"), "description",
      "JSON is the proto3 mapping of the messages in proto/. Lengths in mm, angles in degrees, in "
      "the hold frame.");
  std::set<const Descriptor*> open, done;
  const Descriptor* problem =
      google::protobuf::DescriptorPool::generated_pool()->FindMessageTypeByName(
          "holdshelf.Problem");
  Struct& paths = object(document, "paths");
  for (const ApiRoute& route : routes) {
    std::string method = operationName(route);
    method.resize(route.method.size());
    describeRoute(object(object(paths, route.path), method), route, open, problem);
  }
  Struct& schemas = object(object(document, "components"), "schemas");
  while (!open.empty()) {
    const Descriptor* message = *open.begin();
    open.erase(open.begin());
    if (done.insert(message).second)
      describeMessage(object(schemas, message->name()), message, open);
  }
  return compactJson(document);
}

}  // namespace holdshelf
