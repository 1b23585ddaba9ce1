// SPDX-License-Identifier: Apache-2.0
// The JSON chunk is parsed by Protocol Buffers' own JSON reader, which is here already, bounds its
// depth and reports errors; the rest of the standard that a mesh needs is small.
#include "mesh/glb_document.h"

#include <google/protobuf/util/json_util.h>

#include <algorithm>
#include <cmath>

#include "mesh/bad_input.h"
#include "mesh/byte_cursor.h"

namespace holdshelf {
namespace {

using google::protobuf::ListValue;
using google::protobuf::Struct;
using google::protobuf::Value;

constexpr std::uint32_t kJsonChunk = 0x4E4F534A, kBinChunk = 0x004E4942;
// The parsed tree takes some fifty times the text; a mesh's description takes a few kilobytes.
constexpr std::size_t kLargestJson = 8 << 20;

double jsonNumber(const Struct& object, const char* key, double fallback) {
  const Value* value = jsonMember(object, key);
  return value && value->has_number_value() ? value->number_value() : fallback;
}

/// A stored whole number as what it stands for.
double scaled(double raw, double largest, bool normalised) {
  return normalised ? std::max(raw / largest, -1.0) : raw;
}

int componentsOf(const std::string& type) {
  return type == "SCALAR" ? 1 : type == "VEC2" ? 2 : type == "VEC3" ? 3 : type == "VEC4" ? 4 : 0;
}

std::size_t componentBytes(int type) {
  switch (type) {
    case 5120:
    case 5121:
      return 1;
    case 5122:
    case 5123:
      return 2;
    case 5125:
    case 5126:
      return 4;
    default:
      return 0;
  }
}

}  // namespace

void refuseGlb(const std::string& name, const std::string& what) {
  throw BadInput(name + ": " + what + "; export the mesh again as a plain .glb.");
}

const Value* jsonMember(const Struct& object, const char* key) {
  const auto found = object.fields().find(key);
  return found == object.fields().end() ? nullptr : &found->second;
}

const ListValue& jsonList(const Struct& object, const char* key) {
  const Value* value = jsonMember(object, key);
  return value ? value->list_value() : ListValue::default_instance();
}

std::int64_t jsonIndex(const Struct& object, const char* key, std::int64_t fallback,
                       const std::string& name) {
  const double number = jsonNumber(object, key, static_cast<double>(fallback));
  if (number == static_cast<double>(fallback)) return fallback;
  return wholeNumber(number, key, name);
}

std::int64_t wholeNumber(double number, const char* key, const std::string& name) {
  if (!(number >= 0 && number < 9e15) || number != std::floor(number))
    refuseGlb(name, std::string("'") + key + "' is no whole number");
  return static_cast<std::int64_t>(number);
}

const Struct& jsonElement(const ListValue& list, std::int64_t index, const std::string& name) {
  if (index < 0 || index >= list.values_size())
    refuseGlb(name, "it refers to a part that it lacks");
  return list.values(static_cast<int>(index)).struct_value();
}

double GlbAccessor::at(std::int64_t element, int component) const {
  const std::size_t offset = static_cast<std::size_t>(element) * stride;
  ByteCursor c(bytes.substr(offset), "");
  const auto skip = static_cast<std::size_t>(component);
  switch (component_type) {
    case 5120:
      c.take(skip);
      return scaled(c.read<std::int8_t>(), 127, normalised);
    case 5121:
      c.take(skip);
      return scaled(c.read<std::uint8_t>(), 255, normalised);
    case 5122:
      c.take(skip * 2);
      return scaled(c.read<std::int16_t>(), 32767, normalised);
    case 5123:
      c.take(skip * 2);
      return scaled(c.read<std::uint16_t>(), 65535, normalised);
    case 5125:
      c.take(skip * 4);
      return c.read<std::uint32_t>();
    default:
      c.take(skip * 4);
      return c.read<float>();
  }
}

GlbAccessor GlbDocument::accessor(std::int64_t index) const {
  const Struct& a = jsonElement(jsonList(json, "accessors"), index, name);
  if (jsonMember(a, "sparse")) refuseGlb(name, "it stores differences only (sparse accessors)");
  GlbAccessor out;
  out.count = jsonIndex(a, "count", 0, name);
  const Value* type = jsonMember(a, "type");
  out.components = type ? componentsOf(type->string_value()) : 0;
  out.component_type =
      static_cast<int>(std::min<std::int64_t>(jsonIndex(a, "componentType", 0, name), 1 << 20));
  const Value* normalised = jsonMember(a, "normalized");
  out.normalised = normalised && normalised->bool_value();
  const std::size_t size =
      componentBytes(out.component_type) * static_cast<std::size_t>(out.components);
  if (size == 0) refuseGlb(name, "it stores numbers in a way that is not in the standard");
  const Struct& view =
      jsonElement(jsonList(json, "bufferViews"), jsonIndex(a, "bufferView", -1, name), name);
  if (jsonIndex(view, "buffer", 0, name) != 0) refuseGlb(name, "its data lie in another file");
  out.stride = static_cast<std::size_t>(
      jsonIndex(view, "byteStride", static_cast<std::int64_t>(size), name));
  // Each is below 9e15, so that the sums below can't wrap; the product is checked by division.
  const auto start = static_cast<std::size_t>(jsonIndex(view, "byteOffset", 0, name) +
                                              jsonIndex(a, "byteOffset", 0, name));
  if (out.stride < size) refuseGlb(name, "its numbers overlap");
  if (out.count > 0 &&
      (start > bin.size() || bin.size() - start < size ||
       static_cast<std::size_t>(out.count - 1) > (bin.size() - start - size) / out.stride))
    refuseGlb(name, "it promises " + std::to_string(out.count) + " numbers that aren't in it");
  out.bytes = bin.substr(std::min(start, bin.size()));
  return out;
}

GlbDocument parseGlbDocument(std::string_view bytes, const std::string& name) {
  GlbDocument document;
  document.name = name;
  ByteCursor file(bytes, name);
  if (file.take(std::min<std::size_t>(4, bytes.size())) != "glTF")
    refuseGlb(name, "this is no GLB file");
  if (file.read<std::uint32_t>() != 2) refuseGlb(name, "this is not version 2 of glTF");
  if (file.read<std::uint32_t>() > bytes.size())
    throw BadInput(name + " is shorter than its header says; it was cut off, export it again.");
  std::string_view json;
  while (file.left() >= 8) {
    const auto length = file.read<std::uint32_t>(), type = file.read<std::uint32_t>();
    const std::string_view data = file.take(length);
    if (type == kJsonChunk && json.empty()) json = data;
    if (type == kBinChunk && document.bin.empty()) document.bin = data;
  }
  if (json.size() > kLargestJson) refuseGlb(name, "its description is larger than 8 MB");
  const auto status = google::protobuf::util::JsonStringToMessage(
      google::protobuf::StringPiece(json.data(), json.size()), &document.json);
  if (!status.ok()) refuseGlb(name, "its description is no valid JSON");
  for (const Value& extension : jsonList(document.json, "extensionsRequired").values())
    if (extension.string_value().rfind("KHR_materials_", 0) != 0 &&
        extension.string_value() != "KHR_texture_transform")
      refuseGlb(name, "it needs the extension '" + extension.string_value().substr(0, 40) +
                          "', such as compressed data, which is not read");
  return document;
}

}  // namespace holdshelf
