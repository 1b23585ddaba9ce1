// SPDX-License-Identifier: Apache-2.0
// write_reference DESCRIPTORS OUT: the reference of what Holdshelf stores and sends, as Markdown:
//   OUT/formats.md    every message of the .proto files with its comments (from protoc's
//                     descriptor set, with source info)
//   OUT/api.md        every route of `holdshelf serve`, from the table that answers it
//   OUT/openapi.json  the same for programs (OpenAPI 3.0.3)
#include <google/protobuf/descriptor.h>
#include <google/protobuf/descriptor.pb.h>

#include <cstdio>
#include <filesystem>
#include <map>

#include "catalog/api.h"
#include "catalog/openapi.h"
#include "mesh/whole_file.h"

namespace {

using namespace holdshelf;
using google::protobuf::Descriptor;
using google::protobuf::EnumDescriptor;
using google::protobuf::FieldDescriptor;
using google::protobuf::SourceLocation;

/// What the .proto file says before or behind a declaration, on one line.
template <class Declared>
std::string commentOf(const Declared& declared) {
  SourceLocation location;
  if (!declared.GetSourceLocation(&location)) return "";
  std::string text;
  for (const char c : location.leading_comments + location.trailing_comments)
    if (c == '|')
      text += "\\|";
    else if (!(c == ' ' && (text.empty() || text.back() == ' ')))
      text += c == '\n' ? ' ' : c;
  while (!text.empty() && text.back() == ' ') text.pop_back();
  return text;
}

/// As hosts make the anchor of a heading.
std::string linkTo(const std::string& name) {
  std::string anchor;
  for (const char c : name)
    anchor += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return "[" + name + "](#" + anchor + ")";
}

std::string typeOf(const FieldDescriptor& field) {
  if (field.is_map())
    return "map of " + typeOf(*field.message_type()->FindFieldByNumber(1)) + " to " +
           typeOf(*field.message_type()->FindFieldByNumber(2));
  std::string type = field.type_name();
  if (field.message_type() != nullptr) type = linkTo(field.message_type()->name());
  if (field.enum_type() != nullptr) type = linkTo(field.enum_type()->name());
  return (field.is_repeated() ? "list of " : "") + type;
}

std::string describe(const Descriptor& message) {
  std::string text = "### " + message.name() + "\n\n" + commentOf(message) +
                     "\n\n| JSON name | type | number | meaning |\n|---|---|---|---|\n";
  for (int i = 0; i < message.field_count(); ++i) {
    const FieldDescriptor& field = *message.field(i);
    text += "| `" + field.json_name() + "` | " + typeOf(field) + " | " +
            std::to_string(field.number()) + " | " + commentOf(field) + " |\n";
  }
  text += "\n";
  for (int i = 0; i < message.nested_type_count(); ++i)
    if (!message.nested_type(i)->options().map_entry()) text += describe(*message.nested_type(i));
  return text;
}

std::string describe(const EnumDescriptor& words) {
  std::string text = "### " + words.name() + "\n\n" + commentOf(words) + "\n\n";
  for (int i = 0; i < words.value_count(); ++i)
    text += "- `" + words.value(i)->name() + "` " + commentOf(*words.value(i)) + "\n";
  return text + "\n";
}

/// @throws BadInput  The file holds no descriptor set.
std::string formats(const std::filesystem::path& descriptors) {
  google::protobuf::FileDescriptorSet set;
  if (!set.ParseFromString(readFile(descriptors)))
    throw BadInput(descriptors.string() + " is no descriptor set of protoc.");
  google::protobuf::DescriptorPool pool;
  for (const auto& file : set.file()) pool.BuildFile(file);
  std::string text =
      "# Formats\n\nWhat the program stores, exchanges and sends, in protocol buffers (proto3); "
      "JSON is "
      "the proto3 mapping with these names. Lengths in mm, angles in degrees, in the hold frame: "
      "the "
      "wall is z = 0, z points to the climber, y is up.\n\n";
  for (const auto& listed : set.file()) {
    if (listed.name().rfind("proto/", 0) != 0) continue;
    const auto& file = *pool.FindFileByName(listed.name());
    text += "## " + file.name() + "\n\n";
    for (int i = 0; i < file.message_type_count(); ++i) text += describe(*file.message_type(i));
    for (int i = 0; i < file.enum_type_count(); ++i) text += describe(*file.enum_type(i));
  }
  return text;
}

std::string messageLink(const Descriptor* message, const std::string& otherwise) {
  if (message == nullptr) return otherwise;
  std::string link = linkTo(message->name());
  return link.insert(link.find('#'), "formats.md");
}

std::string api() {
  std::string text =
      "# The API of `holdshelf serve`\n\nHTTP and JSON, version 1. A request that is turned down "
      "gets a "
      "`Problem` with one sentence. Roles, each with what the one before may do: look, set, log, "
      "head.\n\n";
  for (const ApiRoute& route : apiRoutes()) {
    text += "## " + route.method + " " + route.path + "\n\n" + route.summary + ". " +
            (route.role == Role::None ? "Open to every device."
                                      : "Needs the role " + roleWord(route.role) + ".") +
            "\n\n";
    for (const ApiParameter& parameter : route.query)
      text += "- `" + parameter.name + "` (" + parameter.type +
              (parameter.required ? ", required" : "") + "): " + parameter.meaning + "\n";
    if (route.takes != nullptr || !route.takes_type.empty())
      text += "- Takes " + messageLink(route.takes, route.takes_type) + "\n";
    text += "- Gives " + messageLink(route.gives, route.type) + "\n\n";
  }
  return text;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 3) {
    std::fprintf(stderr, "usage: write_reference DESCRIPTORS OUT\n");
    return 2;
  }
  try {
    const std::filesystem::path out = argv[2];
    std::filesystem::create_directories(out);
    writeWhole(out / "formats.md", formats(argv[1]));
    writeWhole(out / "api.md", api());
    writeWhole(out / "openapi.json", openApiDocument(apiRoutes()));
    return 0;
  } catch (const std::exception& error) {
    std::fprintf(stderr, "write_reference: %s\n", error.what());
    return 1;
  }
}
