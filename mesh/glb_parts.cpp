// SPDX-License-Identifier: Apache-2.0
#include "mesh/glb_parts.h"

#include <utility>

#include "mesh/byte_cursor.h"

namespace holdshelf {
namespace {

constexpr std::uint32_t kJsonChunk = 0x4E4F534A, kBinChunk = 0x004E4942;
constexpr int kVertices = 34962, kIndices = 34963;  // Targets of buffer views (5.11).

void pad(std::string& bytes, char with) { bytes.resize((bytes.size() + 3) / 4 * 4, with); }

void appendChunk(std::string& file, std::uint32_t type, const std::string& data) {
  appendLittleEndian(file, static_cast<std::uint32_t>(data.size()));
  appendLittleEndian(file, type);
  file += data;
}

}  // namespace

void GlbParts::add(const std::string& attribute, const std::string& bytes, int stride,
                   std::size_t elements, int component_type, const std::string& type,
                   const std::string& more) {
  const std::string comma = count ? "," : "";
  views += comma + "{\"buffer\":0,\"byteOffset\":" + std::to_string(bin.size()) +
           ",\"byteLength\":" + std::to_string(bytes.size()) +
           (stride ? ",\"byteStride\":" + std::to_string(stride) : "") +
           ",\"target\":" + std::to_string(attribute.empty() ? kIndices : kVertices) + "}";
  accessors += comma + "{\"bufferView\":" + std::to_string(count) +
               ",\"componentType\":" + std::to_string(component_type) +
               ",\"count\":" + std::to_string(elements) + ",\"type\":\"" + type + "\"" + more + "}";
  if (!attribute.empty())
    attributes += (attributes.empty() ? "\"" : ",\"") + attribute + "\":" + std::to_string(count);
  bin += bytes;
  pad(bin, '\0');
  ++count;
}

std::string glbFile(std::string json, std::string bin) {
  pad(json, ' ');
  pad(bin, '\0');
  std::string file = "glTF";
  appendLittleEndian(file, std::uint32_t{2});
  appendLittleEndian(file, static_cast<std::uint32_t>(28 + json.size() + bin.size()));
  appendChunk(file, kJsonChunk, json);
  appendChunk(file, kBinChunk, bin);
  return file;
}

}  // namespace holdshelf
